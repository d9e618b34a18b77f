/* Weights accepted without the usual yes: typed on a dead scale, or automatically. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", rights);
}

static bool accepted(uint8_t ingredient)
{
    return item_of(ingredient)->status >= ITEM_WEIGHED;
}

static void test_no_automatic_yes_when_disputed(void **state)
{
    (void)state;
    begin_with(0);
    B.setup.accept_auto = true;
    B.setup.accept_us = 1000000;
    play_until(CURE, ASK_FILL);
    B.at[FINE].restless = true;
    fill_to(MG(24900));
    pass(120);
    expect_ask(ASK_CONFIRM);
    yes();
    assert_true(accepted(CURE));
}

static void test_automatic_yes(void **state)
{
    (void)state;
    begin_with(0);
    B.setup.accept_auto = true;
    B.setup.accept_us = 1000000;
    play_until(PORK, ASK_FILL);
    fill_to(KG(5));
    pass(50);
    expect_ask(ASK_CONFIRM); /* a lug has no band: it may be half full */
    yes();
    no();
    play_until(CURE, ASK_FILL);
    fill_to(MG(19900)); /* for 8 kg of meat */
    expect_ask(ASK_CONFIRM);
    pass(2);
    B.at[FINE].load -= MG(50);
    pass(2);
    B.at[FINE].load += MG(50);
    pass(15);
    assert_false(accepted(CURE)); /* the time starts anew */
    assert_int_equal(sequence_next(&B.s, B.now) > B.now, true);
    pass(10);
    assert_true(accepted(CURE));
    assert_int_equal(last_of(REC_WEIGHED)->reason[0], '\0');
    play_until(CHEESE, ASK_FILL);
    fill_to(G(800));
    pass(60);
    expect_ask(ASK_CONFIRM); /* critical: never by itself */
    assert_false(accepted(CHEESE));
    yes();
    second("OTHER");
    assert_true(accepted(CHEESE));
}

static void test_automatic_yes_waits_for_a_part_of_a_plan(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    B.setup.accept_auto = true;
    B.setup.accept_us = 1000000;
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(KG(3));
    done();
    pass(50);
    expect_ask(ASK_CONFIRM);
    assert_false(accepted(PORK));
}

static void test_automatic_yes_and_a_full_disk(void **state)
{
    (void)state;
    begin_with(0);
    B.setup.accept_auto = true;
    B.setup.accept_us = 1000000;
    play_until(CURE, ASK_FILL);
    B.fail_all = true;
    fill_to(MG(24900));
    pass(20);
    unsigned said = B.notices[NOTICE_STORE];
    assert_in_range(said, 1, 2);
    pass(30);
    assert_in_range(B.notices[NOTICE_STORE], said + 1, said + 2); /* tried again, but not at every reading */
    assert_false(accepted(CURE));
    expect_ask(ASK_CONFIRM);
    B.fail_all = false;
    pass(30);
    assert_true(accepted(CURE));
}

static void test_typed(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    typed(G(25));
    expect_refused(REFUSED_LIVE); /* whoever types it */
    unplug(FINE);
    typed(G(25));
    expect_refused(REFUSED_RIGHT);
    person("TYPIST", RIGHT_TYPE);
    expect_ask(ASK_FILL);
    typed(0);
    expect_refused(REFUSED_VALUE);
    typed(-G(1));
    expect_refused(REFUSED_VALUE);
    typed(B.setup.scales[FINE].capacity + 1); /* no such cup would be weighed there */
    expect_refused(REFUSED_VALUE);
    expect_ask(ASK_FILL);
    typed(MG(24900));
    expect_ask(ASK_CONFIRM);
    assert_true(B.s.prompt.typed);
    mass_pg net;
    assert_true(sequence_net(&B.s, B.now, &net));
    assert_int_equal(net, MG(24900));
    pass(30);
    expect_ask(ASK_CONFIRM);
    yes();
    const struct record *r = last_of(REC_WEIGHED);
    assert_int_equal(r->manner, MANNER_TYPED);
    assert_false(r->has_gross);
    assert_int_equal(r->net, MG(24900));
    assert_string_equal(r->person, "TYPIST");
    assert_int_equal(item_of(CURE)->manner, MANNER_TYPED); /* stays marked */
    assert_int_equal(item_of(CURE)->status, ITEM_STAGED);
    play_to_end();
}

static void test_typed_misses(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(SALT, ASK_FILL);
    unplug(BENCH);
    typed(G(300));
    expect_ask(ASK_OVER);
    expect_notice(NOTICE_OVER);
    assert_int_equal(B.notice_mass, G(115));
    keep("as read off");
    expect_refused(REFUSED_RIGHT);
    answer(ANSWER_DISCARD, "");
    expect_refused(REFUSED_WORD);
    typed(G(100)); /* a slip of the finger is typed again */
    expect_ask(ASK_UNDER);
    lot("S2");
    expect_refused(REFUSED_WORD); /* nothing to split by */
    person("CHIEF", RIGHT_TYPE | RIGHT_ACCEPT);
    expect_ask(ASK_UNDER);
    answer(ANSWER_SHORT, "none left");
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_UNDER);
    assert_int_equal(last_of(REC_WEIGHED)->manner, MANNER_TYPED);
    play_to_end();
}

static void test_typed_needs_the_right_when_accepted(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(CURE, ASK_FILL);
    unplug(FINE);
    typed(MG(24900));
    person("AB2", 0);
    expect_ask(ASK_CONFIRM);
    yes();
    expect_refused(REFUSED_RIGHT);
    assert_false(accepted(CURE));
}

static void test_typed_is_forgotten_when_the_scale_is_back(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(CURE, ASK_FILL);
    unplug(FINE);
    unplug(BENCH);
    typed(MG(24900));
    expect_ask(ASK_CONFIRM);
    plug(BENCH);
    pass(5);
    expect_ask(ASK_CONFIRM); /* another scale's return changes nothing */
    assert_true(B.s.prompt.typed);
    plug(FINE);
    pass(30);
    expect_ask(ASK_FILL); /* weighed after all: the cup is empty */
    assert_false(B.s.prompt.typed);
    unplug(FINE);
    typed(MG(24900));
    plug(FINE);
    pass(2);
    yes();
    expect_refused(REFUSED_WORD);
    assert_false(accepted(CURE));
}

static void test_typed_before_the_container(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(CURE, ASK_LOT);
    unplug(FINE);
    typed(G(25));
    expect_refused(REFUSED_WORD); /* its lot comes first */
    lot("C1");
    expect_ask(ASK_CLEAR);
    typed(G(25));
    expect_ask(ASK_CONFIRM);
    plug(FINE);
    pass(3);
    expect_ask(ASK_CLEAR); /* back before the yes, and no container was on it */
    unplug(FINE);
    typed(G(25));
    yes();
    assert_true(accepted(CURE));
}

/* A lug or a part of a plan on a dead scale is no shortage. */
static void test_typed_lugs(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(PORK, ASK_FILL);
    unplug(BENCH);
    typed(KG(70)); /* a slip for 7.0 kg, which no band would tell of */
    expect_refused(REFUSED_VALUE);
    expect_ask(ASK_FILL);
    typed(KG(7));
    expect_ask(ASK_CONFIRM);
    yes();
    expect_ask(ASK_MORE);

    bench_new(BASIS_PLANNED, KG(10));
    B.who.rights = RIGHT_TYPE;
    bench_begin();
    play_until(PORK, ASK_FILL);
    unplug(BENCH);
    typed(KG(3));
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_IN);
    expect_ask(ASK_MORE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_automatic_yes_when_disputed),
        cmocka_unit_test(test_automatic_yes),
        cmocka_unit_test(test_automatic_yes_waits_for_a_part_of_a_plan),
        cmocka_unit_test(test_automatic_yes_and_a_full_disk),
        cmocka_unit_test(test_typed),
        cmocka_unit_test(test_typed_misses),
        cmocka_unit_test(test_typed_needs_the_right_when_accepted),
        cmocka_unit_test(test_typed_is_forgotten_when_the_scale_is_back),
        cmocka_unit_test(test_typed_before_the_container),
        cmocka_unit_test(test_typed_lugs),
    };
    return cmocka_run_group_tests_name("sequence_typed", tests, NULL, NULL);
}
