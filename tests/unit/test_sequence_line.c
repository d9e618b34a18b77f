/* How a scale's line fails, as far as the sequence tells: noise, holes, another program; and what is put on the wrong scale. */
#include "tests/unit/seq_bench.h"

static void begin_filling(void)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    lift(BENCH);
    settle();
}

static void link_event(uint8_t scale, enum link_state link)
{
    struct event ev = {.kind = EV_LINK, .scale = scale, .link = (uint8_t)link};
    bench_event(&ev);
}

/* Nothing that can be read, for so many tenths of a second. */
static void noise(uint8_t scale, unsigned tenths)
{
    B.at[scale].mute = true;
    for (unsigned k = 0; k < tenths; k++) {
        link_event(scale, LINK_NOISE);
        pass(1);
    }
}

static void test_noise_is_not_silence(void **state)
{
    (void)state;
    begin_filling();
    noise(FINE, 30);
    expect_quiet(NOTICE_SILENT);
    expect_notice(NOTICE_GARBLED);
    assert_int_equal(B.notice_scale, FINE);
    noise(FINE, 100);
    expect_quiet(NOTICE_GARBLED); /* once */
    assert_int_equal(B.s.scales[FINE].link, LINK_SILENT);
    B.at[FINE].mute = false;
    pass(1);
    expect_notice(NOTICE_BACK);
    noise(FINE, 30);
    expect_notice(NOTICE_GARBLED); /* and once more for another spell */
}

static void test_silence_after_a_bad_line_is_silence(void **state)
{
    (void)state;
    begin_filling();
    noise(FINE, 1);
    pass(30);
    expect_notice(NOTICE_SILENT);
    expect_quiet(NOTICE_GARBLED);
    noise(FINE, 10); /* a scale that starts says odd things */
    expect_quiet(NOTICE_GARBLED);
    noise(FINE, 15);
    expect_notice(NOTICE_GARBLED);
}

static void test_a_bad_line_now_and_then_is_nothing(void **state)
{
    (void)state;
    begin_filling();
    for (unsigned k = 0; k < 40; k++) {
        link_event(FINE, LINK_NOISE);
        pass(2);
    }
    expect_quiet(NOTICE_GARBLED);
    expect_quiet(NOTICE_SELDOM);
    expect_quiet(NOTICE_SILENT);
}

static void test_noise_after_an_unplug(void **state)
{
    (void)state;
    begin_filling();
    unplug(FINE);
    expect_notice(NOTICE_UNPLUGGED);
    link_event(FINE, LINK_TAKEN);
    expect_notice(NOTICE_BUSY);
    B.at[FINE].unplugged = false;
    noise(FINE, 15);
    expect_quiet(NOTICE_GARBLED);
    noise(FINE, 15);
    expect_notice(NOTICE_GARBLED);
    expect_quiet(NOTICE_SILENT);
}

/* Plugged in again, but held by another program, or of a name that may be another scale's: dead, in doubt, and back at last. */
static void test_there_again_but_not_to_be_had(void **state)
{
    (void)state;
    begin_filling();
    link_event(FINE, LINK_UNUSABLE); /* it is up: nothing of that kind can be so */
    expect_quiet(NOTICE_UNUSABLE);
    unplug(FINE);
    expect_notice(NOTICE_UNPLUGGED);
    link_event(FINE, LINK_UNUSABLE);
    expect_notice(NOTICE_UNUSABLE);
    assert_int_equal(B.s.scales[FINE].link, LINK_UNUSABLE);
    link_event(FINE, LINK_TAKEN);
    expect_notice(NOTICE_BUSY);
    assert_int_equal(B.s.scales[FINE].link, LINK_TAKEN);
    link_event(FINE, LINK_UNPLUGGED); /* pulled again */
    expect_notice(NOTICE_UNPLUGGED);
    link_event(FINE, LINK_UNUSABLE);
    expect_notice(NOTICE_UNUSABLE);
    pass(30);
    expect_quiet(NOTICE_SILENT);
    assert_true(B.s.scales[FINE].doubt);
    plug(FINE);
    pass(2);
    expect_notice(NOTICE_BACK);
}

static void test_a_scale_at_its_key_garbles(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.scales[FINE].agreeing = true;
    B.scales[FINE].settle.silent_us = UINT32_MAX;
    bench_begin();
    B.at[FINE].mute = true;
    link_event(FINE, LINK_NOISE);
    pass(20);
    expect_quiet(NOTICE_GARBLED);
    link_event(FINE, LINK_NOISE);
    expect_notice(NOTICE_GARBLED);
}

/* Nobody knows what was put on it meanwhile. */
static void test_silent_from_the_start_is_in_doubt(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.at[FINE].mute = true;
    bench_begin();
    assert_false(B.s.scales[FINE].doubt);
    pass(30);
    expect_notice(NOTICE_SILENT);
    assert_true(B.s.scales[FINE].doubt);
}

static void test_silence_is_no_hole(void **state)
{
    (void)state;
    begin_filling();
    B.at[FINE].mute = true;
    pass(8);
    B.at[FINE].mute = false;
    pass(3);
    B.at[FINE].mute = true;
    pass(70);
    expect_notice(NOTICE_SILENT);
    B.at[FINE].mute = false;
    pass(1);
    expect_quiet(NOTICE_SELDOM);
    expect_notice(NOTICE_BACK);
}

static void test_too_seldom(void **state)
{
    (void)state;
    begin_filling();
    for (unsigned k = 0; k < 6; k++) { /* a line each 1.2 s */
        B.at[FINE].mute = true;
        pass(11);
        B.at[FINE].mute = false;
        pass(1);
        if (k < 4)
            expect_quiet(NOTICE_SELDOM);
    }
    expect_notice(NOTICE_SELDOM);
    assert_int_equal(B.notice_scale, FINE);
    for (unsigned k = 0; k < 6; k++) {
        B.at[FINE].mute = true;
        pass(11);
        B.at[FINE].mute = false;
        pass(1);
    }
    expect_quiet(NOTICE_SELDOM); /* once */
    expect_quiet(NOTICE_SILENT);
}

/* ---- the wrong scale ---- */

static void test_put_on_the_wrong_scale(void **state)
{
    (void)state;
    begin_filling();
    put(BENCH, KG(1));
    settle();
    expect_notice(NOTICE_ELSEWHERE);
    assert_int_equal(B.notice_scale, BENCH);
    assert_true(B.notice_mass == KG(1));
    pass(50);
    expect_quiet(NOTICE_ELSEWHERE); /* it stands there since before */
    expect_ask(ASK_FILL);
    lift(BENCH);
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
    put(BENCH, KG(2));
    settle();
    expect_notice(NOTICE_ELSEWHERE);
}

static void test_container_on_the_wrong_scale(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_CONTAINER);
    lift(BENCH);
    settle();
    put(BENCH, G(900));
    settle();
    expect_notice(NOTICE_ELSEWHERE);
    expect_ask(ASK_CONTAINER);
}

static void test_what_is_no_false_alarm(void **state)
{
    (void)state;
    begin_filling();
    for (unsigned k = 1; k <= 20; k++) { /* it creeps */
        put(BENCH, G(5) * k);
        settle();
    }
    expect_quiet(NOTICE_ELSEWHERE);
    put(BENCH, G(190)); /* less than the least that it weighs */
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
    put(BENCH, 0);
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
    put(FINE, B.at[FINE].load + G(5)); /* the right one */
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
}

static void test_stood_there_when_it_came_back(void **state)
{
    (void)state;
    begin_filling();
    unplug(BENCH);
    put(BENCH, KG(1));
    plug(BENCH);
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
    assert_true(B.s.scales[BENCH].doubt);
}

static void test_stood_there_at_the_start(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.at[FINE].load = G(300);
    bench_begin();
    settle();
    play_until(PORK, ASK_FILL);
    expect_quiet(NOTICE_ELSEWHERE);
}

/* What is put into a cup that was accepted is said as that. */
static void test_into_what_was_accepted(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_CONTAINER);
    settle();
    assert_true(B.at[BENCH].load > KG(1)); /* the last lug stands there still */
    put(BENCH, B.at[BENCH].load + KG(1));
    settle();
    expect_notice(NOTICE_CHANGED);
    expect_quiet(NOTICE_ELSEWHERE);
}

static void test_nothing_wanted(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(NO_INGREDIENT, ASK_MORE);
    put(FINE, G(100));
    settle();
    expect_quiet(NOTICE_ELSEWHERE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_noise_is_not_silence),
        cmocka_unit_test(test_silence_after_a_bad_line_is_silence),
        cmocka_unit_test(test_a_bad_line_now_and_then_is_nothing),
        cmocka_unit_test(test_noise_after_an_unplug),
        cmocka_unit_test(test_there_again_but_not_to_be_had),
        cmocka_unit_test(test_a_scale_at_its_key_garbles),
        cmocka_unit_test(test_silent_from_the_start_is_in_doubt),
        cmocka_unit_test(test_silence_is_no_hole),
        cmocka_unit_test(test_too_seldom),
        cmocka_unit_test(test_put_on_the_wrong_scale),
        cmocka_unit_test(test_container_on_the_wrong_scale),
        cmocka_unit_test(test_what_is_no_false_alarm),
        cmocka_unit_test(test_stood_there_when_it_came_back),
        cmocka_unit_test(test_stood_there_at_the_start),
        cmocka_unit_test(test_into_what_was_accepted),
        cmocka_unit_test(test_nothing_wanted),
    };
    return cmocka_run_group_tests_name("sequence_line", tests, NULL, NULL);
}
