/* What goes wrong at the bench: over, under, spilt, empty bags, second lots, checks out of limits. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", rights);
}

static void test_over_caught_in_its_cup(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(SALT, ASK_FILL);
    fill_to(G(210));
    expect_ask(ASK_OVER);
    expect_notice(NOTICE_OVER);
    assert_int_equal(B.notice_mass, G(25));
    assert_int_equal(B.sounds[SOUND_OVER], 1);
    assert_int_equal(B.s.prompt.net, G(210));
    assert_int_equal(B.s.prompt.take, G(25)); /* down to 185 g */
    yes();
    expect_refused(REFUSED_WORD); /* nothing out of its band by a yes */
    answer(ANSWER_DONE, "");
    expect_refused(REFUSED_WORD);
    assert_int_equal(count_of(REC_WEIGHED, item_of(SALT)->id), 0);
    fill_to(G(195));
    expect_ask(ASK_OVER);
    assert_int_equal(B.s.prompt.take, G(10)); /* the question follows what is done */
    assert_int_equal(B.sounds[SOUND_OVER], 1);
    fill_to(G(185));
    expect_ask(ASK_CONFIRM); /* both ends of the band count */
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, G(185));
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_IN);
    fill_to(0);
}

static void test_over_taken_out_too_far(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CHEESE, ASK_FILL);
    fill_to(G(1100));
    expect_ask(ASK_OVER);
    fill_to(G(600));
    expect_ask(ASK_FILL);
    fill_to(G(1000));
    expect_ask(ASK_CONFIRM);
}

static void test_keep_with_and_without_the_right(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SALT, ASK_FILL);
    fill_to(G(200));
    expect_ask(ASK_OVER);
    assert_int_equal(B.s.prompt.answers & TAKES(KEEP), 0);
    keep("it is stirred in already");
    expect_refused(REFUSED_RIGHT);
    person("CHIEF", RIGHT_ACCEPT);
    expect_ask(ASK_OVER);
    assert_int_not_equal(B.s.prompt.answers & TAKES(KEEP), 0);
    keep("");
    expect_refused(REFUSED_VALUE); /* a reason is wanted */
    keep("it is stirred in already");
    const struct record *r = last_of(REC_WEIGHED);
    assert_int_equal(r->net, G(200));
    assert_int_equal(r->verdict, VERDICT_OVER);
    assert_string_equal(r->reason, "it is stirred in already");
    assert_string_equal(r->person, "CHIEF");
    assert_string_equal(last_of(REC_SIGNED_IN)->person, "CHIEF");
}

static void test_keep_of_what_moves(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CHEESE, ASK_FILL);
    fill_to(G(1100));
    B.at[BENCH].load += G(50);
    pass(1);
    keep("as it is");
    expect_refused(REFUSED_MOVING);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CHEESE)->id), 0);
}

static void test_right_is_that_of_who_signs(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    B.formula.ingredients[SALT].critical = true;
    play_until(SALT, ASK_FILL);
    fill_to(G(200));
    keep("stirred in");
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    person("AB2", 0); /* hands over between the reason and the second look */
    second("OTHER");
    expect_refused(REFUSED_RIGHT);
    assert_int_equal(count_of(REC_WEIGHED, item_of(SALT)->id), 0);
    person("CHIEF", RIGHT_ACCEPT);
    second("OTHER");
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_OVER);
}

static void test_under_opens_only_after_done(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CHEESE, ASK_FILL);
    fill_to(G(500));
    expect_ask(ASK_FILL);
    done();
    expect_ask(ASK_UNDER);
    assert_int_equal(B.s.prompt.net, G(500));
    fill_to(G(495)); /* dripping off is not pouring on */
    expect_ask(ASK_UNDER);
    B.at[BENCH].load += G(100);
    pass(2);
    expect_ask(ASK_FILL);
    fill_to(KG(1));
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_WEIGHT);
}

static void test_short(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SALT, ASK_FILL);
    fill_to(G(150));
    done();
    answer(ANSWER_SHORT, "none left");
    expect_refused(REFUSED_RIGHT);
    person("CHIEF", RIGHT_ACCEPT);
    answer(ANSWER_SHORT, "");
    expect_refused(REFUSED_VALUE);
    answer(ANSWER_SHORT, "none left");
    assert_int_equal(last_of(REC_WEIGHED)->net, G(150));
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_UNDER);
    assert_string_equal(last_of(REC_WEIGHED)->reason, "none left");
    play_to_end();
}

/* 'short' with the cup in the hand would take its tare off what is in the mixer. */
static void test_done_and_short_without_the_cup(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CHEESE, ASK_FILL);
    fill_to(G(500));
    lift(BENCH);
    expect_ask(ASK_FILL);
    done();
    expect_refused(REFUSED_BAND);
    expect_notice(NOTICE_CONTAINER);
    fill_to(G(500));
    done();
    expect_ask(ASK_UNDER);
    lift(BENCH);
    expect_ask(ASK_UNDER);
    answer(ANSWER_SHORT, "none left");
    expect_refused(REFUSED_BAND);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CHEESE)->id), 0);
}

static void test_hold_and_release(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", 0);
    play_until(SALT, ASK_FILL);
    fill_to(G(150));
    done();
    answer(ANSWER_HOLD, "salt ran out");
    expect_ended(BATCH_HELD, 1);
    assert_string_equal(last_of(REC_STATE)->reason, "salt ran out");
    bench_restart();
    expect_ask(ASK_PERSON);
    answer(ANSWER_GO, "");
    expect_refused(REFUSED_WORD);
    answer(ANSWER_PAUSE, ""); /* a paused batch anybody may resume: a held one must not become one */
    expect_refused(REFUSED_WORD);
    person("AB", 0);
    expect_ask(ASK_RESUME);
    assert_int_equal(B.s.prompt.answers, 0);
    answer(ANSWER_PAUSE, "");
    expect_refused(REFUSED_WORD);
    yes();
    expect_refused(REFUSED_RIGHT);
    assert_int_equal(B.s.state, BATCH_HELD);
    person("CHIEF", RIGHT_RELEASE);
    expect_ask(ASK_RESUME);
    yes();
    assert_int_equal(B.s.state, BATCH_RUNNING);
    assert_string_equal(last_of(REC_STATE)->person, "CHIEF");
    play_until(SALT, ASK_CONTAINER);
    assert_true(B.s.prompt.back);
    play_to_end();
    expect_ended(BATCH_COMPLETE, 0);
}

static void test_held_can_be_stopped(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SALT, ASK_FILL);
    done();
    answer(ANSWER_HOLD, "");
    expect_ended(BATCH_HELD, 1);
    bench_restart();
    expect_ask(ASK_PERSON);
    answer(ANSWER_STOP, "thrown away");
    expect_ended(BATCH_STOPPED, 1);
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
    fill_to(G(40));
    expect_ask(ASK_OVER);
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

static void test_check_out_of_limits(void **state)
{
    (void)state;
    begin_with(0);
    play_until(NO_INGREDIENT, ASK_CHECK);
    keep("thermometer");
    expect_refused(REFUSED_RIGHT);
    answer(ANSWER_HOLD, "");
    expect_refused(REFUSED_WORD); /* there is nothing wrong yet */
    value(12001);
    expect_ask(ASK_CHECK); /* again, and the first value stays on record */
    assert_int_equal(last_of(REC_CHECKED)->verdict, VERDICT_OVER);
    value(-1501);
    assert_int_equal(last_of(REC_CHECKED)->verdict, VERDICT_UNDER);
    expect_ask(ASK_CHECK);
    keep("thermometer");
    expect_refused(REFUSED_RIGHT);
    person("CHIEF", RIGHT_ACCEPT);
    keep("");
    expect_refused(REFUSED_VALUE);
    keep("the meat is fine");
    const struct record *r = last_of(REC_CHECKED);
    assert_int_equal(r->value_milli, -1501);
    assert_int_equal(r->verdict, VERDICT_UNDER);
    assert_string_equal(r->reason, "the meat is fine");
    expect_ask(ASK_ADD);
}

static void test_check_edges_and_hold(void **state)
{
    (void)state;
    begin_with(0);
    play_until(NO_INGREDIENT, ASK_CHECK);
    value(13000);
    value(12000);
    assert_int_equal(last_of(REC_CHECKED)->verdict, VERDICT_IN);
    expect_ask(ASK_ADD);

    begin_with(0);
    B.formula.steps[TEMPERATURE].high_milli = CHECK_NONE;
    play_until(NO_INGREDIENT, ASK_CHECK);
    value(-1500);
    assert_int_equal(last_of(REC_CHECKED)->verdict, VERDICT_IN);

    begin_with(0);
    B.formula.steps[TEMPERATURE].low_milli = CHECK_NONE;
    play_until(NO_INGREDIENT, ASK_CHECK);
    value(INT32_MAX);
    assert_int_equal(last_of(REC_CHECKED)->verdict, VERDICT_OVER);
    answer(ANSWER_HOLD, "too warm");
    expect_ended(BATCH_HELD, 1);
}

static void test_critical_asks_a_second_time(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CHEESE)->id), 0);
    fill_to(G(1030)); /* out of its band meanwhile */
    expect_ask(ASK_OVER);
    fill_to(G(1020));
    yes();
    fill_to(G(1025)); /* one division: still the same question, but not in its band */
    expect_ask(ASK_OVER);
    keep("last of the wheel");
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    fill_to(G(1020));
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    fill_to(G(1060));
    expect_ask(ASK_OVER);
    keep("last of the wheel");
    second("OTHER");
    const struct record *r = last_of(REC_WEIGHED);
    assert_int_equal(r->verdict, VERDICT_OVER);
    assert_string_equal(r->second, "OTHER");
    assert_string_equal(r->reason, "last of the wheel");
    play_to_end();
}

static void test_critical_short_and_split(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CHEESE, ASK_FILL);
    fill_to(G(400));
    done();
    lot("K2");
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    second("OTHER");
    assert_string_equal(last_of(REC_WEIGHED)->second, "OTHER");
    assert_string_equal(last_of(REC_WEIGHED)->next_lot, "K2");
    assert_int_equal(last_of(REC_WEIGHED)->reason[0], '\0');
    expect_ask(ASK_FILL);
    fill_to(G(400));
    done();
    answer(ANSWER_SHORT, "none left");
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    second("OTHER");
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_UNDER);
    play_to_end();
}

static void test_critical_lug_of_a_plan(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    B.formula.ingredients[PORK].critical = true;
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(KG(3));
    done();
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    settle();
    assert_int_equal(B.s.prompt.what, WHAT_SECOND); /* a part of its plan stays asked */
    second("OTHER");
    expect_ask(ASK_MORE);
    play_to_end();
}

static void test_planned_meat_over_and_under(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    B.who.rights = RIGHT_ACCEPT;
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(G(7200));
    expect_ask(ASK_OVER);
    keep("a good piece");
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_OVER);
    no();
    play_until(BEEF, ASK_FILL);
    fill_to(G(50)); /* below the minimum load: not a part that may simply be confirmed */
    done();
    expect_ask(ASK_UNDER);
    fill_to(KG(1));
    done();
    expect_ask(ASK_CONFIRM);
    yes();
    no(); /* short of its plan, with the right */
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

static void test_scale_of_no_class(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    B.scales[BENCH].min_load = 0;
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(0);
    done();
    expect_ask(ASK_UNDER); /* nothing is not a part of a plan */
    bench_new(BASIS_WEIGHED, 0);
    B.scales[BENCH].min_load = 0;
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(0);
    expect_ask(ASK_FILL);
    fill_to(G(5));
    expect_ask(ASK_CONFIRM);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_over_caught_in_its_cup),
        cmocka_unit_test(test_over_taken_out_too_far),
        cmocka_unit_test(test_keep_with_and_without_the_right),
        cmocka_unit_test(test_keep_of_what_moves),
        cmocka_unit_test(test_right_is_that_of_who_signs),
        cmocka_unit_test(test_under_opens_only_after_done),
        cmocka_unit_test(test_short),
        cmocka_unit_test(test_done_and_short_without_the_cup),
        cmocka_unit_test(test_hold_and_release),
        cmocka_unit_test(test_held_can_be_stopped),
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
        cmocka_unit_test(test_tub_thrown_away),
        cmocka_unit_test(test_tub_of_two_lots_thrown_away),
        cmocka_unit_test(test_tub_that_does_not_agree),
        cmocka_unit_test(test_tub_kept_with_a_reason),
        cmocka_unit_test(test_tub_over_and_held),
        cmocka_unit_test(test_tub_on_a_dead_scale),
        cmocka_unit_test(test_tub_of_typed_portions),
        cmocka_unit_test(test_tub_goes_on_after_a_typed_portion),
        cmocka_unit_test(test_check_out_of_limits),
        cmocka_unit_test(test_check_edges_and_hold),
        cmocka_unit_test(test_critical_asks_a_second_time),
        cmocka_unit_test(test_critical_short_and_split),
        cmocka_unit_test(test_critical_lug_of_a_plan),
        cmocka_unit_test(test_planned_meat_over_and_under),
        cmocka_unit_test(test_planned_lug_of_two_lots),
        cmocka_unit_test(test_no_split_on_a_dead_scale),
        cmocka_unit_test(test_scale_of_no_class),
    };
    return cmocka_run_group_tests_name("sequence_miss", tests, NULL, NULL);
}
