/* Whole batches: by each basis, every way of weighing, in every order. */
#include "tests/unit/seq_bench.h"

static mass_pg net_of(uint8_t ingredient)
{
    mass_pg sum = 0;
    for (uint16_t k = 0; k < B.s.item_count; k++)
        if (B.items[k].ingredient == ingredient && B.items[k].status == ITEM_IN_MIXER)
            sum += B.items[k].net;
    return sum;
}

static void all_is_in(void)
{
    expect_ended(BATCH_COMPLETE, 0);
    assert_int_equal(net_of(WATER), KG(1));
    assert_int_equal(net_of(SALT), G(180));
    assert_int_equal(net_of(CURE), G(25));
    assert_int_equal(net_of(SEASONING), MG(299820)); /* 10 kg * 340 / 11340 = 299.8236 g on 0.01 g */
    assert_int_equal(net_of(CHEESE), KG(1));
    bench_twin_agrees();
}

/* Where in the journal the first of a kind about this ingredient stands. */
static unsigned place_of(enum record_kind kind, uint8_t ingredient)
{
    for (unsigned k = 0; k < B.stored_count; k++)
        if (B.stored[k].kind == kind && B.stored[k].ingredient == ingredient)
            return k;
    fail_msg("no %s of ingredient %u", record_kind_text(kind), ingredient);
    return 0;
}

static void test_weighed(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    assert_int_equal(B.stored_count, 0); /* nothing is journalled before the first accepted answer */
    play_to_end();
    all_is_in();
    assert_int_equal(net_of(PORK), KG(7));
    assert_int_equal(net_of(BEEF), KG(3));
    assert_int_equal(last_of(REC_BASIS)->net, KG(10));
    assert_int_equal(B.stored[0].kind, REC_STARTED);
    assert_int_equal(B.stored[1].kind, REC_LOT);
    assert_int_equal(B.stored[B.stored_count - 1].kind, REC_STATE);
    assert_int_equal(B.stored[B.stored_count - 1].state, BATCH_COMPLETE);
    assert_int_equal(B.state, BATCH_COMPLETE);
    assert_int_equal(count_of(REC_WEIGHED, 0), 7);
    assert_int_equal(B.sounds[SOUND_ACCEPTED], 7);
    assert_int_equal(B.sounds[SOUND_WRONG], 0);
}

static void test_a_weighing_step_by_step(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_LOT);
    assert_int_equal(B.s.prompt.scale, FINE); /* 25 g: the finest that holds it */
    lot("C7");
    expect_ask(ASK_CLEAR);
    settle();
    expect_ask(ASK_CONTAINER);
    assert_false(B.s.prompt.back);
    put(FINE, G(14));
    expect_ask(ASK_FILL);
    assert_int_equal(B.s.prompt.target, G(25));
    assert_int_equal(B.s.prompt.low, MG(24500));
    assert_int_equal(B.s.prompt.high, G(25)); /* the limit, not the band's 25.5 g */
    pour(FINE, G(20));
    expect_ask(ASK_FILL);
    pour(FINE, MG(4900));
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_WEIGHT);
    assert_int_equal(B.s.prompt.net, MG(24900));
    pour(FINE, MG(20)); /* two divisions: still the same question, but the newer figure is the one recorded */
    expect_ask(ASK_CONFIRM);
    yes();
    const struct record *r = last_of(REC_WEIGHED);
    assert_int_equal(r->gross, MG(38920));
    assert_int_equal(r->tare, G(14));
    assert_int_equal(r->net, MG(24920));
    assert_int_equal(r->verdict, VERDICT_IN);
    assert_int_equal(r->manner, MANNER_LIVE);
    assert_int_equal(r->scale, FINE);
    assert_int_equal(r->reason[0], '\0');
    assert_string_equal(r->lot, "C7");
    assert_string_equal(r->person, "unnamed");
    assert_int_equal(item_of(CURE)->status, ITEM_WEIGHED);
    play_until(SEASONING, ASK_CLEAR);
    lift(FINE);
    assert_int_equal(item_of(CURE)->status, ITEM_STAGED);
    assert_int_equal(last_of(REC_STAGED)->item, item_of(CURE)->id);
}

static void test_confirm_closes_when_the_weight_moves(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_FILL);
    fill_to(MG(24900));
    expect_ask(ASK_CONFIRM);
    uint32_t prompt = B.s.prompt.id;
    B.at[FINE].load -= MG(30); /* three divisions, not yet settled */
    pass(2);
    expect_ask(ASK_FILL);
    answer_to(prompt, ANSWER_YES);
    expect_refused(REFUSED_CLOSED);
    settle();
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24870));
}

static void test_declared(void **state)
{
    (void)state;
    bench_new(BASIS_DECLARED, KG(10));
    bench_begin();
    expect_ask(ASK_LOT);
    lot("P1");
    expect_ask(ASK_LOT);
    lot("B1");
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_BASIS);
    assert_int_equal(B.s.prompt.basis, KG(10));
    no();
    expect_refused(REFUSED_WORD); /* there are no lugs to add to */
    assert_int_equal(item_of(PORK)->net, KG(7));
    assert_int_equal(item_of(PORK)->manner, MANNER_TYPED);
    assert_int_equal(last_of(REC_WEIGHED)->scale, NO_SCALE);
    play_to_end();
    all_is_in();
}

/* With no lot to ask there is no answer either, and a batch is opened by one. */
static void test_declared_without_lots(void **state)
{
    (void)state;
    bench_new(BASIS_DECLARED, KG(10));
    B.formula.ingredients[PORK].ask_lot = B.formula.ingredients[BEEF].ask_lot = false;
    bench_begin();
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_BASIS);
    assert_int_equal(B.stored_count, 0);
    yes();
    assert_int_equal(count_of(REC_WEIGHED, 0), 2);
    play_to_end();
    all_is_in();
    assert_int_equal(net_of(PORK) + net_of(BEEF), KG(10));
}

static void kits_first(void)
{
    static const uint8_t order[INGREDIENTS] = {5, 6, 0, 1, 2, 3, 4};
    for (uint8_t i = 0; i < INGREDIENTS; i++)
        B.formula.ingredients[i].weigh_order = order[i];
}

static void test_planned_kits_first(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    kits_first();
    bench_begin();
    assert_int_equal(B.s.prompt.ingredient, WATER);
    assert_int_equal(B.s.prompt.target, KG(1));
    play_until(PORK, ASK_FILL);
    assert_int_equal(B.s.prompt.target, KG(7));
    assert_int_equal(B.s.prompt.low, G(6860));
    assert_int_equal(B.s.prompt.high, G(7140));
    play_to_end();
    all_is_in();
    assert_true(place_of(REC_WEIGHED, CHEESE) < place_of(REC_WEIGHED, PORK));
    assert_int_equal(last_of(REC_BASIS)->net, KG(10));
}

/* The first record names the scale that the plan chose, though the batch is not open yet when it is drafted. */
static void test_planned_opened_by_a_tare(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    kits_first();
    B.formula.ingredients[CURE].weigh_order = 0;
    B.formula.ingredients[WATER].weigh_order = 2;
    B.formula.ingredients[CURE].ask_lot = false;
    bench_begin();
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.stored[0].kind, REC_STARTED);
    assert_int_equal(B.stored[1].kind, REC_TARED);
    assert_int_equal(B.stored[1].scale, FINE);
    play_to_end();
    all_is_in();
}

static void test_planned_meat_in_lugs(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(30));
    bench_begin();
    play_until(PORK, ASK_FILL);
    assert_int_equal(B.s.prompt.target, KG(21));
    fill_to(KG(9));
    expect_ask(ASK_FILL);
    done(); /* a part of the plan, not a shortage */
    expect_ask(ASK_CONFIRM);
    yes();
    expect_ask(ASK_MORE);
    assert_false(last_of(REC_WEIGHED)->has_band);
    no();
    expect_refused(REFUSED_RIGHT); /* below the plan: that's all only with the right */
    yes();
    play_until(PORK, ASK_FILL);
    assert_int_equal(B.s.prompt.target, KG(12));
    fill_to(KG(12));
    yes();
    no();
    expect_ask(ASK_LOT);
    assert_int_equal(B.s.prompt.ingredient, BEEF);
    assert_int_equal(item_of(PORK)->parent, 1);
    play_to_end();
    assert_int_equal(net_of(PORK), KG(21));
}

/* Past its plan a further lug is as it comes. */
static void test_planned_lug_beyond_the_plan(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    bench_begin();
    play_until(PORK, ASK_MORE);
    yes();
    play_until(PORK, ASK_FILL);
    assert_false(B.s.prompt.has_band);
    fill_to(KG(1));
    yes();
    no();
    play_to_end();
    assert_int_equal(net_of(PORK), KG(8));
    assert_int_equal(last_of(REC_BASIS)->net, KG(10)); /* planned stays planned */
}

static void test_several_lugs(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(PORK, ASK_FILL);
    assert_false(B.s.prompt.has_band);
    done();
    expect_refused(REFUSED_WORD); /* a lug without a plan is as heavy as it is */
    fill_to(G(95));
    expect_ask(ASK_FILL); /* below the scale's minimum load of 100 g */
    fill_to(KG(4));
    yes();
    yes();
    expect_ask(ASK_LOT);
    lot("P2");
    play_until(PORK, ASK_FILL);
    fill_to(KG(3));
    yes();
    no();
    assert_int_equal(B.s.prompt.ingredient, BEEF);
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS)
        bench_help();
    assert_int_equal(B.s.prompt.basis, KG(10));
    no(); /* one more after all */
    expect_ask(ASK_LOT);
    assert_int_equal(B.s.prompt.ingredient, BEEF);
    B.lug[BEEF] = KG(2);
    play_until(NO_INGREDIENT, ASK_MORE);
    no();
    assert_int_equal(B.s.prompt.what, WHAT_BASIS);
    assert_int_equal(B.s.prompt.basis, KG(12));
    yes();
    assert_int_equal(item_of(CURE)->target, G(30));
    play_to_end();
    assert_int_equal(net_of(BEEF), KG(5));
}

static void test_order_of_weighing_and_of_addition(void **state)
{
    static const uint8_t order[INGREDIENTS] = {1, 2, 5, 6, 4, 3, 0}; /* cheese first of all */
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    for (uint8_t i = 0; i < INGREDIENTS; i++)
        B.formula.ingredients[i].weigh_order = order[i];
    bench_begin();
    assert_int_equal(B.s.prompt.ingredient, PORK); /* nothing has a target before the meat is known */
    play_until(NO_INGREDIENT, ASK_ADD);
    assert_true(place_of(REC_WEIGHED, CHEESE) < place_of(REC_WEIGHED, SEASONING));
    assert_true(place_of(REC_WEIGHED, SEASONING) < place_of(REC_WEIGHED, CURE));
    assert_true(place_of(REC_WEIGHED, CURE) < place_of(REC_WEIGHED, WATER));
    yes(); /* meat */
    expect_ask(ASK_ADD);
    assert_int_equal(item_of(PORK)->status, ITEM_IN_MIXER);
    assert_int_equal(item_of(CHEESE)->status, ITEM_STAGED);
    yes();
    expect_ask(ASK_INSTRUCTION);
    yes();
    expect_ask(ASK_CHECK);
    value(11900);
    expect_ask(ASK_ADD);
    assert_int_equal(item_of(CHEESE)->status, ITEM_STAGED);
    yes();
    all_is_in();
}

static void test_tub(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(WATER, ASK_CLEAR); /* water: no lot is asked */
    play_until(WATER, ASK_FILL);
    fill_to(G(1005));
    yes();
    expect_ask(ASK_LOT);
    assert_int_equal(B.s.prompt.ingredient, SALT);
    lot("S1");
    expect_ask(ASK_FILL); /* no clearing, no container: a running net */
    mass_pg net;
    assert_true(sequence_net(&B.s, B.now, &net));
    assert_int_equal(net, 0);
    fill_to(G(180));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->tare, G(2205));
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
    assert_int_equal(B.s.prompt.scale, BENCH);
    yes();
    const struct record *r = last_of(REC_TUB);
    assert_int_equal(r->gross, G(2385));
    assert_int_equal(r->tare, G(1200));
    assert_int_equal(r->net, G(1185));
    assert_int_equal(r->target, G(1185));
    assert_int_equal(r->verdict, VERDICT_IN);
    assert_int_equal(item_of(SALT)->status, ITEM_WEIGHED);
    play_until(CHEESE, ASK_CONTAINER); /* the bench is cleared once for both */
    assert_int_equal(item_of(SALT)->status, ITEM_STAGED);
    assert_int_equal(item_of(WATER)->status, ITEM_STAGED);
    assert_int_equal(count_of(REC_STAGED, item_of(SALT)->id), 1);
}

static void test_bag(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(SEASONING, ASK_CONTAINER);
    put(FINE, G(450));
    expect_ask(ASK_FILL);
    assert_int_equal(B.s.prompt.way, WAY_BAG);
    put(FINE, G(200));
    mass_pg net;
    assert_true(sequence_net(&B.s, B.now, &net));
    assert_int_equal(net, G(250)); /* what has left it */
    lift(FINE);                    /* poured from in the hand */
    expect_ask(ASK_FILL);
    assert_false(sequence_net(&B.s, B.now, &net));
    done();
    expect_refused(REFUSED_MOVING);
    put(FINE, G(150));
    expect_ask(ASK_CONFIRM);
    lift(FINE);
    expect_ask(ASK_FILL);
    put(FINE, G(100));
    expect_ask(ASK_OVER);
    lift(FINE);
    expect_ask(ASK_FILL);
    put(FINE, G(150));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->gross, G(150));
    assert_int_equal(last_of(REC_WEIGHED)->tare, G(450));
    assert_int_equal(last_of(REC_WEIGHED)->net, G(300));
}

static void test_noise(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.noise = true;
    B.at[BENCH].markless = true;
    bench_begin();
    play_to_end();
    assert_in_range(net_of(CURE), MG(24500), G(25));
    assert_in_range(net_of(SALT), G(175), G(185));
    bench_twin_agrees();
}

static void test_nothing_that_is_not_there_is_needed(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.limits = NULL;
    B.setup.cup_empty = B.setup.cup_off = NULL;
    bench_begin();
    play_to_end();
    expect_ended(BATCH_COMPLETE, 0);
    assert_int_equal(item_of(CURE)->high, MG(25500)); /* no limit: its whole band */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weighed),
        cmocka_unit_test(test_a_weighing_step_by_step),
        cmocka_unit_test(test_confirm_closes_when_the_weight_moves),
        cmocka_unit_test(test_declared),
        cmocka_unit_test(test_declared_without_lots),
        cmocka_unit_test(test_planned_kits_first),
        cmocka_unit_test(test_planned_opened_by_a_tare),
        cmocka_unit_test(test_planned_meat_in_lugs),
        cmocka_unit_test(test_planned_lug_beyond_the_plan),
        cmocka_unit_test(test_several_lugs),
        cmocka_unit_test(test_order_of_weighing_and_of_addition),
        cmocka_unit_test(test_tub),
        cmocka_unit_test(test_bag),
        cmocka_unit_test(test_noise),
        cmocka_unit_test(test_nothing_that_is_not_there_is_needed),
    };
    return cmocka_run_group_tests_name("sequence_batch", tests, NULL, NULL);
}
