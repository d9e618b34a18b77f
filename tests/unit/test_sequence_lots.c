/* Second lots, second bags, and what is thrown away and weighed again. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", rights);
}

static void test_second_lot(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_LOT);
    lot("C1");
    play_until(CURE, ASK_FILL);
    fill_to(G(10));
    done();
    expect_ask(ASK_UNDER);
    lot("");
    expect_refused(REFUSED_VALUE);
    uint16_t first = B.s.current;
    lot("C2");
    expect_ask(ASK_FILL); /* goes on in the same cup */
    const struct record *r = last_of(REC_WEIGHED);
    assert_int_equal(r->item, first);
    assert_int_equal(r->net, G(10));
    assert_int_equal(r->target, G(10));
    assert_int_equal(r->verdict, VERDICT_IN);
    assert_string_equal(r->lot, "C1");
    assert_string_equal(r->next_lot, "C2");
    const struct item *rest = sequence_item(&B.s, B.s.current);
    assert_int_equal(rest->id, r->next);
    assert_int_equal(rest->parent, first);
    assert_string_equal(rest->lot, "C2");
    assert_int_equal(rest->target, G(15));
    assert_int_equal(rest->high, G(15)); /* what the limit leaves */
    fill_to(MG(15010));
    expect_ask(ASK_OVER);
    fill_to(MG(14990));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(14990));
    assert_int_equal(last_of(REC_WEIGHED)->tare, G(10) + MG(12500));
    assert_int_equal(count_of(REC_LOT, rest->id), 0);
    play_to_end();
}

/* Nothing of the first lot went in. */
static void test_second_lot_instead(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    done();
    lot("C2");
    expect_ask(ASK_FILL);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
    assert_string_equal(item_of(CURE)->lot, "C2");
    assert_int_equal(last_of(REC_LOT)->item, item_of(CURE)->id);
    fill_to(G(25));
    yes();
    assert_string_equal(last_of(REC_WEIGHED)->lot, "C2");
}

static void test_no_second_lot_where_none_is_asked(void **state)
{
    (void)state;
    begin_with(0);
    play_until(WATER, ASK_FILL);
    fill_to(G(500));
    done();
    lot("W2");
    expect_refused(REFUSED_WORD);
}

static void test_second_bag(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SEASONING, ASK_CONTAINER);
    put(FINE, G(200));
    put(FINE, G(20)); /* 180 g out: it is empty */
    expect_ask(ASK_FILL);
    done();
    lot("B2");
    expect_ask(ASK_CLEAR);
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    put(FINE, G(400));
    expect_ask(ASK_FILL);
    assert_int_equal(B.s.prompt.target, MG(119820));
    put(FINE, G(280));
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->tare, G(400));
    assert_int_equal(last_of(REC_WEIGHED)->net, G(120));
    assert_string_equal(last_of(REC_WEIGHED)->lot, "B2");
    play_to_end();
}

static void test_second_bag_when_the_first_gave_nothing(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SEASONING, ASK_CONTAINER);
    put(FINE, G(20));
    expect_ask(ASK_FILL);
    done();
    uint16_t first = B.s.current;
    lot("B2");
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_DISCARDED);
    expect_ask(ASK_LOT);
    play_to_end();
}

static void test_discard_and_weigh_again(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    uint16_t first = B.s.current;
    spilt((uint16_t)(first - 1)); /* meant for another question */
    expect_refused(REFUSED_VALUE);
    fill_to(G(40));
    expect_ask(ASK_OVER);
    spilt(99);
    expect_refused(REFUSED_VALUE);
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_TARED);
    answer(ANSWER_DISCARD, "crumbs in it");
    const struct record *r = last_of(REC_DISCARDED);
    assert_int_equal(r->item, first);
    assert_int_equal(r->net, G(40));
    assert_string_equal(r->reason, "crumbs in it");
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_DISCARDED);
    assert_int_equal(B.s.current, r->next);
    assert_int_equal(sequence_item(&B.s, r->next)->parent, first);
    expect_ask(ASK_LOT); /* which lot it is now */
    lot("C2");
    expect_ask(ASK_CLEAR);
    settle();
    expect_ask(ASK_CLEAR); /* the cup still stands there */
    play_to_end();
    assert_int_equal(count_of(REC_WEIGHED, first), 0);
    assert_int_equal(item_of(CURE)->net, G(25));
}

/* Tared with a hand on it, or full. */
static void test_wrong_tare(void **state)
{
    (void)state;
    begin_with(0);
    play_until(PORK, ASK_CONTAINER);
    put(BENCH, KG(7));
    expect_ask(ASK_FILL);
    answer(ANSWER_DISCARD, "it was full");
    expect_ask(ASK_LOT);
    assert_int_equal(last_of(REC_DISCARDED)->net, 0);
    play_until(PORK, ASK_CONTAINER);
    put(BENCH, G(850));
    fill_to(KG(7));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, KG(7));
    play_to_end();
}

static void test_spilt_at_the_addition(void **state)
{
    (void)state;
    begin_with(0);
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    expect_ask(ASK_ADD);
    uint16_t first = item_of(CURE)->id;
    spilt(0);
    expect_refused(REFUSED_VALUE); /* which? */
    spilt(999);
    expect_refused(REFUSED_VALUE);
    spilt(item_of(PORK)->id);
    expect_refused(REFUSED_VALUE); /* is in the mixer */
    spilt(B.s.current);
    expect_refused(REFUSED_VALUE);
    spilt(first);
    assert_int_equal(last_of(REC_DISCARDED)->item, first);
    assert_int_equal(last_of(REC_DISCARDED)->net, G(25));
    expect_ask(ASK_LOT);
    assert_int_equal(B.s.prompt.ingredient, CURE);
    play_until(NO_INGREDIENT, ASK_ADD);
    assert_int_equal(item_of(CURE)->parent, first);
    assert_int_equal(item_of(CURE)->status, ITEM_STAGED);
    assert_int_equal(count_of(REC_WEIGHED, first), 1); /* both entries are kept */
    play_to_end();
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_DISCARDED);
    assert_int_equal(item_of(CURE)->status, ITEM_IN_MIXER);
}

/* A cup of two lots is spilt whole, whichever of them is named. */
static void spill_two_lots(bool name_the_first)
{
    begin_with(0);
    play_until(CURE, ASK_FILL);
    uint16_t first = B.s.current;
    fill_to(G(10));
    done();
    lot("C2");
    uint16_t rest = B.s.current;
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    spilt(name_the_first ? first : rest);
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_DISCARDED);
    assert_int_equal(sequence_item(&B.s, rest)->status, ITEM_DISCARDED);
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.s.prompt.target, G(25));
    assert_int_equal(B.s.prompt.low, MG(24500));
    assert_int_equal(B.s.prompt.high, G(25));
    play_to_end();
}

static void test_spilt_cup_of_two_lots(void **state)
{
    (void)state;
    spill_two_lots(true);
    spill_two_lots(false);
}

/* Of two bags the first one's portion is spilt: what the second one gave stays. */
static void test_spilt_portion_of_two_bags(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SEASONING, ASK_CONTAINER);
    put(FINE, G(200));
    put(FINE, G(20));
    uint16_t first = B.s.current;
    done();
    lot("B2");
    uint16_t rest = B.s.current;
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    spilt(first);
    assert_int_equal(sequence_item(&B.s, rest)->status, ITEM_STAGED);
    play_until(SEASONING, ASK_FILL);
    assert_int_equal(B.s.prompt.target, G(180)); /* 299.82 less the 119.82 of the second */
    assert_true(B.s.prompt.high - B.s.prompt.low > G(11));
    play_until(NO_INGREDIENT, ASK_ADD);
    spilt(rest);
    play_until(SEASONING, ASK_FILL);
    assert_int_equal(B.s.prompt.target, MG(119820));
    play_to_end();
}

/* A lug of two lots is asked for more lugs once, at its end. */
static void test_planned_lug_of_two_lots(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    bench_begin();
    play_until(PORK, ASK_FILL);
    uint16_t first = B.s.current;
    fill_to(G(50));
    done();
    lot("P2");
    expect_ask(ASK_FILL);
    assert_int_equal(sequence_item(&B.s, first)->net, G(50));
    assert_int_equal(B.s.prompt.target, G(6950));
    fill_to(G(6950));
    yes();
    expect_ask(ASK_MORE);
    assert_int_equal(B.s.prompt.item, B.s.current);
    assert_int_not_equal(B.s.current, first);
    no();
    assert_int_equal(B.s.prompt.ingredient, BEEF);
    play_to_end();
    assert_int_equal(last_of(REC_BASIS)->net, KG(10));
}

/* How much of the first lot is in the cup can't be told while the scale is dead. */
static void test_no_split_on_a_dead_scale(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_LOT);
    lot("C1");
    play_until(CURE, ASK_FILL);
    fill_to(G(10));
    done();
    B.at[FINE].mute = true;
    pass(30);
    lot("C2");
    expect_refused(REFUSED_STALE);
    assert_string_equal(item_of(CURE)->lot, "C1");
    B.at[FINE].mute = false;
    pass(30);
    done();
    lot("C2");
    assert_string_equal(last_of(REC_WEIGHED)->lot, "C1");
    assert_int_equal(last_of(REC_WEIGHED)->net, G(10));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_second_lot),
        cmocka_unit_test(test_second_lot_instead),
        cmocka_unit_test(test_no_second_lot_where_none_is_asked),
        cmocka_unit_test(test_second_bag),
        cmocka_unit_test(test_second_bag_when_the_first_gave_nothing),
        cmocka_unit_test(test_discard_and_weigh_again),
        cmocka_unit_test(test_wrong_tare),
        cmocka_unit_test(test_spilt_at_the_addition),
        cmocka_unit_test(test_spilt_cup_of_two_lots),
        cmocka_unit_test(test_spilt_portion_of_two_bags),
        cmocka_unit_test(test_planned_lug_of_two_lots),
        cmocka_unit_test(test_no_split_on_a_dead_scale),
    };
    return cmocka_run_group_tests_name("sequence_lots", tests, NULL, NULL);
}
