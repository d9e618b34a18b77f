/* The common tub: compared with its nets, thrown away as a whole, gone on with after a typed portion. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", rights);
}

static void test_tub_thrown_away(void **state)
{
    (void)state;
    begin_with(0);
    play_until(WATER, ASK_FILL);
    fill_to(G(1200));
    expect_ask(ASK_OVER);
    answer(ANSWER_DISCARD, ""); /* the first in the tub */
    play_until(SALT, ASK_FILL);
    uint16_t water = item_of(WATER)->id, salt = B.s.current;
    fill_to(G(300));
    expect_ask(ASK_OVER);
    answer(ANSWER_DISCARD, "dissolved");
    assert_int_equal(sequence_item(&B.s, water)->status, ITEM_DISCARDED);
    assert_int_equal(sequence_item(&B.s, salt)->status, ITEM_DISCARDED);
    expect_ask(ASK_CLEAR);
    assert_int_equal(B.s.prompt.ingredient, WATER);
    assert_int_equal(B.s.prompt.target, KG(1));
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    water = item_of(WATER)->id;
    spilt(item_of(SALT)->id); /* the whole tub at the addition */
    assert_int_equal(sequence_item(&B.s, water)->status, ITEM_DISCARDED);
    play_until(NO_INGREDIENT, ASK_ADD);
    assert_int_equal(count_of(REC_TUB, 0), 2); /* and compared again */
    play_to_end();
    assert_int_equal(item_of(WATER)->status, ITEM_IN_MIXER);
}

static void test_tub_of_two_lots_thrown_away(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SALT, ASK_FILL);
    fill_to(G(100));
    done();
    lot("S2");
    fill_to(G(300));
    expect_ask(ASK_OVER);
    answer(ANSWER_DISCARD, "");
    play_until(SALT, ASK_FILL);
    assert_int_equal(B.s.prompt.target, G(180));
    assert_int_equal(B.s.prompt.low, G(175));
    assert_int_equal(B.s.prompt.high, G(185));
    play_to_end();
}

static void to_tub_check(uint8_t rights)
{
    begin_with(rights);
    play_until(SALT, ASK_FILL);
    fill_to(G(180));
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
}

static void test_tub_that_does_not_agree(void **state)
{
    (void)state;
    to_tub_check(0);
    put(BENCH, B.at[BENCH].load - G(15));
    yes();
    expect_refused(REFUSED_TUB);
    keep("a splash");
    expect_refused(REFUSED_RIGHT);
    B.at[BENCH].load += G(15);
    pass(1);
    yes();
    expect_refused(REFUSED_MOVING);
    settle();
    put(BENCH, B.at[BENCH].load + G(10)); /* two divisions are a drift */
    yes();
    assert_int_equal(count_of(REC_TUB, 0), 1);
    assert_int_equal(last_of(REC_TUB)->verdict, VERDICT_IN);
}

static void test_tub_kept_with_a_reason(void **state)
{
    (void)state;
    to_tub_check(RIGHT_ACCEPT);
    put(BENCH, B.at[BENCH].load + G(20));
    B.at[BENCH].load -= G(40);
    pass(1);
    keep("a splash");
    expect_refused(REFUSED_MOVING);
    settle();
    keep("a splash");
    assert_string_equal(last_of(REC_TUB)->reason, "a splash");
    assert_int_equal(last_of(REC_TUB)->verdict, VERDICT_UNDER);
    play_to_end();
}

static void test_tub_over_and_held(void **state)
{
    (void)state;
    to_tub_check(0);
    put(BENCH, B.at[BENCH].load + G(30));
    yes();
    expect_refused(REFUSED_TUB);
    answer(ANSWER_HOLD, "what is in it?");
    expect_ended(BATCH_HELD, 1);
}

static void test_tub_on_a_dead_scale(void **state)
{
    (void)state;
    to_tub_check(RIGHT_ACCEPT);
    unplug(BENCH);
    yes();
    expect_refused(REFUSED_STALE);
    keep("the bench scale has died");
    assert_false(last_of(REC_TUB)->has_gross);
    play_to_end();
}

static void test_tub_of_typed_portions(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    play_until(SALT, ASK_FILL);
    unplug(BENCH);
    typed(G(180));
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
    yes(); /* it left no gross to compare */
    assert_false(last_of(REC_TUB)->has_gross);
    play_to_end();
}

/* The scale dies for one portion in the middle: the tub goes back on it with all that is in it. */
static void test_tub_goes_on_after_a_typed_portion(void **state)
{
    (void)state;
    begin_with(RIGHT_TYPE);
    B.formula.ingredients[CHEESE].way = WAY_TUB; /* water, salt, cheese */
    B.formula.ingredients[CHEESE].weigh_order = 4;
    B.formula.ingredients[CURE].weigh_order = 6;
    B.s.setup = NULL; /* laid out anew */
    bench_begin();
    person("AB", RIGHT_TYPE);
    play_until(SALT, ASK_FILL);
    unplug(BENCH);
    typed(G(180));
    yes();
    plug(BENCH);
    pass(30);
    play_until(CHEESE, ASK_CONTAINER);
    put(BENCH, G(1200) + G(1180));
    expect_ask(ASK_FILL);
    fill_to(KG(1));
    yes();
    second("OTHER");
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
    yes();
    assert_int_equal(last_of(REC_TUB)->tare, G(2380));
    assert_int_equal(last_of(REC_TUB)->net, KG(1));
    play_to_end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tub_thrown_away),         cmocka_unit_test(test_tub_of_two_lots_thrown_away),
        cmocka_unit_test(test_tub_that_does_not_agree), cmocka_unit_test(test_tub_kept_with_a_reason),
        cmocka_unit_test(test_tub_over_and_held),       cmocka_unit_test(test_tub_on_a_dead_scale),
        cmocka_unit_test(test_tub_of_typed_portions),   cmocka_unit_test(test_tub_goes_on_after_a_typed_portion),
    };
    return cmocka_run_group_tests_name("sequence_tub", tests, NULL, NULL);
}
