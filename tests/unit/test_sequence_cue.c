/* The cue while filling: ease off and stop, on live weights of a poured thing with a band, and nowhere else. */
#include <string.h>

#include "tests/unit/seq_bench.h"

/* Pours steadily for so many tenths of a second. */
static void flow_on(uint8_t scale, mass_pg per_second, unsigned tenths)
{
    while (tenths--) {
        B.at[scale].load += per_second / 10;
        pass(1);
    }
}

static void forget(void)
{
    memset(B.cues, 0, sizeof B.cues);
    memset(B.sounds, 0, sizeof B.sounds);
}

static void expect_no_cue(void)
{
    assert_int_equal(B.cues[CUE_EASE] + B.cues[CUE_STOP], 0);
    assert_int_equal(B.sounds[SOUND_EASE] + B.sounds[SOUND_STOP], 0);
    assert_int_equal(sequence_flow(&B.s, B.now).cue, CUE_NONE);
}

/* At the filling of an ingredient, nothing in yet. */
static const struct item *to_fill(uint8_t ingredient)
{
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(ingredient, ASK_FILL);
    pass(10);
    forget();
    return item_of(ingredient);
}

static mass_pg net(void)
{
    mass_pg net = 0;
    assert_true(sequence_net(&B.s, B.now, &net));
    return net;
}

static void test_stop_comes_before_the_target(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    mass_pg per_second = (it->high - it->target) * 2;
    for (unsigned k = 0; k < 2000 && !B.cues[CUE_STOP]; k++)
        flow_on(it->scale, per_second, 1);
    assert_int_equal(B.cues[CUE_STOP], 1);
    assert_int_equal(B.sounds[SOUND_STOP], 1);
    struct flow_view v = sequence_flow(&B.s, B.now);
    assert_true(v.known);
    assert_int_equal(v.cue, CUE_STOP);
    assert_true(v.lands >= it->target - (it->high - it->target) && v.lands <= it->high);
    assert_true(net() < it->target);
    expect_ask(ASK_FILL);
    pass(10); /* the hand has stopped */
    assert_int_equal(sequence_flow(&B.s, B.now).cue, CUE_NONE);
    assert_int_equal(B.cues[CUE_NONE], 1);
    assert_int_equal(B.sounds[SOUND_STOP], 1);
}

static void test_ease_comes_before_stop(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    for (unsigned k = 0; k < 200 && !B.cues[CUE_EASE]; k++)
        flow_on(it->scale, it->target / 4, 1);
    assert_int_equal(B.cues[CUE_STOP], 0);
    assert_int_equal(B.sounds[SOUND_EASE], 1);
    flow_on(it->scale, it->target / 4, 10);
    assert_int_equal(B.cues[CUE_STOP], 1);
    assert_int_equal(B.sounds[SOUND_STOP], 1);
    assert_int_equal(B.cues[CUE_EASE], 1);
}

/* Tenths of a second from the hand's stop until a confirmation is asked for. */
static unsigned until_asked(bool told)
{
    const struct item *it = to_fill(CHEESE);
    B.scales[it->scale].settle.told_us = told ? 0 : UINT32_MAX;
    while (!B.cues[CUE_STOP])
        flow_on(it->scale, it->target / 20, 1);
    assert_int_equal(B.s.scales[it->scale].settle.told != 0, 1);
    while (net() < it->target)
        flow_on(it->scale, it->target / 20, 1);
    for (unsigned tenths = 0; tenths < 50; tenths++, pass(1))
        if (B.s.prompt.ask == ASK_CONFIRM)
            return tenths;
    return 50;
}

/* Whoever was told to stop is believed to have stopped; on the next item nobody was. */
static void test_told_is_settled_sooner(void **state)
{
    (void)state;
    unsigned told = until_asked(true), untold = until_asked(false);
    assert_in_range(told, 5, 12);
    assert_true(told < untold);
    yes();
    while (B.s.prompt.ask == ASK_CONFIRM)
        yes();
    pass(1);
    for (unsigned k = 0; k < B.setup.scale_count; k++)
        assert_int_equal(B.s.scales[k].settle.told, 0);
}

/* What is asked about may be answered at once, though the cue is over. */
static void test_yes_to_what_settled_sooner(void **state)
{
    (void)state;
    (void)until_asked(true);
    pass(1);
    yes();
    expect_refused(REFUSED_COUNT);
    expect_ask(ASK_CONFIRM); /* a second look: cheese is critical */
    pass(1);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->ingredient, CHEESE);
}

/* Filled till somebody is told to stop; the hand stops so much below the target. */
static const struct item *told_and_stopped(uint8_t ingredient, mass_pg below)
{
    const struct item *it = to_fill(ingredient);
    while (!B.cues[CUE_STOP])
        flow_on(it->scale, it->target / 20, 1);
    B.at[it->scale].load += it->target - below - net();
    pass(5); /* not at rest yet */
    assert_true(B.s.scales[it->scale].settle.told);
    return it;
}

/* Stopped short, and then by pieces: no confirmation is asked for between two of them. */
static void test_pieces_after_a_stop(void **state)
{
    (void)state;
    const struct item *it = told_and_stopped(CHEESE, G(60));
    pass(15);
    for (unsigned k = 0; k < 7; k++) {
        B.at[it->scale].load += G(10);
        for (unsigned tenths = 0; tenths < 9; tenths++, expect_ask(ASK_FILL))
            pass(1);
    }
    assert_true(net() >= it->low);
    pass(3);
    expect_ask(ASK_CONFIRM);
}

static void expect_untold(uint8_t scale)
{
    expect_ask(ASK_FILL);
    pass(1);
    assert_int_equal(B.s.scales[scale].settle.told, 0);
    assert_int_equal(B.s.scales[scale].flow.stopped_at, 0);
}

/* The next portion may come to the same platform without another question: nobody was told to stop that one. */
static void test_told_is_of_one_portion(void **state)
{
    (void)state;
    const struct item *it = told_and_stopped(CHEESE, G(60));
    pass(15);
    done();
    expect_ask(ASK_UNDER);
    lot("B2");
    yes(); /* the second look */
    expect_untold(it->scale);
    assert_int_not_equal(B.s.current, it->id);
}

static void test_out_of_the_bag(void **state)
{
    (void)state;
    const struct item *it = to_fill(SEASONING);
    assert_int_equal(it->way, WAY_BAG);
    for (unsigned k = 0; k < 2000 && !B.cues[CUE_STOP]; k++)
        flow_on(it->scale, -it->target / 20, 1);
    assert_int_equal(B.cues[CUE_STOP], 1);
    assert_true(net() < it->target && net() > it->target * 3 / 4);
}

static void test_in_the_common_tub(void **state)
{
    (void)state;
    const struct item *it = to_fill(WATER);
    assert_int_equal(it->way, WAY_TUB);
    fill_to(it->target);
    yes();
    play_until(SALT, ASK_FILL);
    pass(10);
    forget();
    it = item_of(SALT);
    assert_true(it->in_place);
    for (unsigned k = 0; k < 2000 && !B.cues[CUE_STOP]; k++)
        flow_on(it->scale, it->target / 20, 1);
    assert_int_equal(B.cues[CUE_STOP], 1);
    assert_true(net() < it->target && net() > it->target * 3 / 4);
}

static void test_a_lug_has_no_cue(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(PORK, ASK_FILL);
    forget();
    assert_false(item_of(PORK)->has_band);
    flow_on(BENCH, G(200), 60);
    expect_no_cue();
}

/* Lifted off, filled at the bin, put back: no pouring. */
static void test_set_down_is_no_pouring(void **state)
{
    (void)state;
    for (unsigned tenths = 1; tenths <= 12; tenths++) {
        const struct item *it = to_fill(CHEESE);
        mass_pg tare = B.at[it->scale].load, all = tare + it->target - G(20);
        flow_on(it->scale, -tare * 10 / tenths, tenths);
        B.at[it->scale].load = 0;
        settle();
        flow_on(it->scale, all * 10 / tenths, tenths);
        settle();
        expect_no_cue();
    }
}

static void test_bag_lifted_off(void **state)
{
    (void)state;
    for (unsigned tenths = 1; tenths <= 4; tenths++) {
        const struct item *it = to_fill(SEASONING);
        mass_pg bag = B.at[it->scale].load;
        flow_on(it->scale, -bag * 10 / tenths, tenths);
        B.at[it->scale].load = 0;
        settle();
        flow_on(it->scale, (bag - it->target / 2) * 10 / tenths, tenths);
        settle();
        expect_no_cue();
    }
}

static void test_no_cue_while_paused(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    answer(ANSWER_PAUSE, "");
    flow_on(it->scale, it->target / 4, 60);
    expect_no_cue();
}

static void test_no_cue_in_doubt(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    B.s.scales[it->scale].doubt = true;
    B.s.scales[it->scale].last_gross = -KG(1);
    flow_on(it->scale, it->target / 4, 60);
    expect_no_cue();
}

static void test_no_cue_without_a_rule(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    B.scales[it->scale].flow.mute = true;
    flow_on(it->scale, it->target / 4, 60);
    expect_no_cue();
    assert_false(sequence_flow(&B.s, B.now).known);
}

/* The next item begins without the cue of the one before. */
static void test_cue_goes_with_its_question(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    for (unsigned k = 0; k < 200 && !B.cues[CUE_STOP]; k++)
        flow_on(it->scale, it->target / 4, 1);
    assert_int_equal(sequence_flow(&B.s, B.now).cue, CUE_STOP);
    answer(ANSWER_PAUSE, "");
    assert_int_equal(sequence_flow(&B.s, B.now).cue, CUE_NONE);
    pass(10);
    answer(ANSWER_GO, "");
    assert_int_equal(sequence_flow(&B.s, B.now).cue, CUE_NONE);
}

static void test_woken_when_the_cue_goes(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    for (unsigned k = 0; k < 200 && !B.cues[CUE_STOP]; k++)
        flow_on(it->scale, it->target / 4, 1);
    B.at[it->scale].mute = true;
    uint64_t next = sequence_next(&B.s, B.now);
    assert_true(next > B.now && next <= B.now + 400000);
    B.now = next - 100000;
    pass(1);
    assert_int_equal(B.cues[CUE_NONE], 1);
}

/* A scale that sends at its print key only. */
static void print_line(uint8_t scale)
{
    pass(10);
    B.at[scale].mute = false;
    pass(1);
    B.at[scale].mute = true;
}

static void test_two_prints_stand_for_rest(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CHEESE, ASK_CONTAINER);
    uint8_t k = item_of(CHEESE)->scale;
    struct scale_setup *sc = &B.scales[k];
    sc->agreeing = sc->flow.mute = true;
    sc->settle.silent_us = UINT32_MAX;
    sc->settle.gap_us = UINT32_MAX / 2;
    B.at[k].mute = true;
    B.at[k].markless = true; /* it prints at rest only */
    B.at[k].load = cup_of(CHEESE);
    pass(100);
    expect_ask(ASK_CONTAINER);
    print_line(k);
    expect_ask(ASK_CONTAINER);
    print_line(k);
    expect_ask(ASK_FILL);
    assert_true(last_of(REC_TARED)->agreed);
    B.at[k].load += item_of(CHEESE)->target;
    print_line(k);
    expect_ask(ASK_FILL);
    print_line(k);
    expect_ask(ASK_CONFIRM);
    pass(110); /* no longer fresh */
    yes();
    expect_refused(REFUSED_MOVING);
    print_line(k);
    yes();
    expect_ask(ASK_CONFIRM); /* a second look: cheese is critical */
    yes();
    assert_true(last_of(REC_WEIGHED)->agreed);
    expect_quiet(NOTICE_SILENT);
    assert_int_equal(B.cues[CUE_EASE] + B.cues[CUE_STOP], 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stop_comes_before_the_target),
        cmocka_unit_test(test_ease_comes_before_stop),
        cmocka_unit_test(test_told_is_settled_sooner),
        cmocka_unit_test(test_yes_to_what_settled_sooner),
        cmocka_unit_test(test_pieces_after_a_stop),
        cmocka_unit_test(test_told_is_of_one_portion),
        cmocka_unit_test(test_out_of_the_bag),
        cmocka_unit_test(test_in_the_common_tub),
        cmocka_unit_test(test_a_lug_has_no_cue),
        cmocka_unit_test(test_set_down_is_no_pouring),
        cmocka_unit_test(test_bag_lifted_off),
        cmocka_unit_test(test_no_cue_while_paused),
        cmocka_unit_test(test_no_cue_in_doubt),
        cmocka_unit_test(test_no_cue_without_a_rule),
        cmocka_unit_test(test_cue_goes_with_its_question),
        cmocka_unit_test(test_two_prints_stand_for_rest),
        cmocka_unit_test(test_woken_when_the_cue_goes),
    };
    return cmocka_run_group_tests_name("sequence_cue", tests, NULL, NULL);
}
