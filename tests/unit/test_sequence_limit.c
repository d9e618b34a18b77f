/* Regulated ingredients and the fitness of scales. The limit is that of 9 CFR 424.21(c) for nitrite in chopped meat, 1/4 oz
 * per 100 lb = 1/6400 of the meat; a 6.25 % cure at its usual 2.5 g/kg is exactly there. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.who.rights = rights;
    bench_begin();
}

static void test_usual_dose_is_accepted(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.s.prompt.target, G(25));
    assert_int_equal(B.s.prompt.high, G(25));
    fill_to(G(25));
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, G(25));
}

static void test_targets_round_down(void **state)
{
    (void)state;
    begin_with(0);
    B.lug[PORK] = G(6995); /* 9.995 kg of meat: 24.9875 g lawful, half-even would be 24.99 g */
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.s.prompt.target, MG(24980));
    assert_int_equal(B.s.prompt.high, MG(24980));
    fill_to(MG(24990));
    expect_ask(ASK_OVER);
}

static void test_above_the_limit_is_never_kept(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    fill_to(MG(25010));
    expect_ask(ASK_OVER);
    assert_int_equal(B.s.prompt.answers & TAKES(KEEP), 0);
    keep("a tenth of a gram");
    expect_refused(REFUSED_LIMIT);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
    fill_to(MG(24990));
    yes();
    play_to_end();
}

/* A band that ends below the limit: between the two it may be kept, above never. */
static void test_between_band_and_limit(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    B.formula.ingredients[CURE].share = (struct share){1, 500}; /* 2 g/kg, band to 20.4 g */
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.s.prompt.high, MG(20400));
    fill_to(MG(25010));
    keep("measured twice");
    expect_refused(REFUSED_LIMIT);
    fill_to(G(23));
    expect_ask(ASK_OVER);
    keep("measured twice");
    assert_int_equal(last_of(REC_WEIGHED)->net, G(23));
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_OVER);
}

/* The same by a typed weight, which no prompt has judged for the limit beforehand. */
static void test_typed_above_the_limit(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    unplug(FINE);
    typed(G(26));
    expect_ask(ASK_OVER);
    keep("as read off");
    expect_refused(REFUSED_LIMIT);
    typed(G(25));
    yes();
    assert_int_equal(item_of(CURE)->net, G(25));
}

static void test_limit_over_second_lots(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    fill_to(G(20));
    done();
    lot("C2");
    assert_int_equal(B.s.prompt.high, G(5));
    fill_to(MG(5010));
    expect_ask(ASK_OVER);
    keep("it is one cure");
    expect_refused(REFUSED_LIMIT);
    fill_to(G(3));
    done();
    lot("C3");
    fill_to(MG(2010));
    keep("it is one cure");
    expect_refused(REFUSED_LIMIT);
    fill_to(G(2));
    yes();
    play_to_end();
}

/* One cup is spilt after a kept one: what is lost counts no more, what is there does. */
static void test_limit_after_a_spilt_cup(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    spilt(item_of(CURE)->id);
    play_until(CURE, ASK_FILL);
    assert_int_equal(B.s.prompt.high, G(25));
    fill_to(MG(25010));
    expect_ask(ASK_OVER);
    keep("the rest is on the floor");
    expect_refused(REFUSED_LIMIT);
    fill_to(G(25));
    yes();
    play_to_end();
}

/* Two small scales: 1 kg of regulated binder goes in three portions, whose limits add up to no more than the whole. */
static void test_portions(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.scales[BENCH].capacity = KG(5);
    B.lug[PORK] = KG(3);
    B.lug[BEEF] = KG(4);
    B.formula.ingredients[CHEESE].share = (struct share){13, 7}; /* 13 kg in all, 5 kg less its container fit */
    B.formula.ingredients[CHEESE].content = (struct share){1, 1};
    B.formula.ingredients[CHEESE].critical = false;
    B.limits[CHEESE] = (struct limit){.base = BASE_MEAT, .share = {13, 7}};
    B.formula.ingredients[WATER].share = (struct share){1, 100};
    B.formula.ingredients[SALT].share = (struct share){2, 100};
    bench_begin();
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS)
        bench_help();
    uint16_t before = B.s.item_count;
    yes();
    assert_int_equal(B.s.item_count, before + 3);
    mass_pg targets = 0, highs = 0;
    for (uint16_t k = 0; k < B.s.item_count; k++)
        if (B.items[k].ingredient == CHEESE) {
            targets += B.items[k].target;
            highs += B.items[k].high;
            assert_true(B.items[k].target <= KG(4));
            assert_false(B.items[k].unfit);
        }
    assert_in_range(targets, KG(13) - G(20), KG(13));
    assert_true(highs <= KG(13));
    play_to_end();
    assert_int_equal(count_of(REC_WEIGHED, item_of(CHEESE)->id), 1);
}

static void test_portions_beyond_the_array(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.scales[BENCH].capacity = KG(5);
    B.lug[PORK] = KG(3);
    B.formula.ingredients[CHEESE].share = (struct share){13, 6};
    B.item_cap = 16;
    bench_begin();
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS)
        bench_help();
    yes();
    expect_refused(REFUSED_FULL); /* before anything is weighed to it */
    assert_int_equal(B.s.basis, 0);

    bench_new(BASIS_PLANNED, KG(6));
    B.scales[BENCH].capacity = KG(5);
    B.formula.ingredients[CHEESE].share = (struct share){13, 6};
    B.item_cap = 16;
    assert_int_equal(bench_init(), FAIL_FULL);
    bench_new(BASIS_PLANNED, KG(6));
    B.formula.ingredients[CHEESE].share = (struct share){1000, 1}; /* more portions than any array has */
    assert_int_equal(bench_init(), FAIL_FULL);
}

static void to_basis(void)
{
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS)
        bench_help();
}

static void test_unfit_regulated_is_refused_at_the_basis(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    B.setup.scale_count = 1; /* the bench alone: 25 g of cure on 5 g divisions */
    to_basis();
    assert_int_equal(sequence_unfit(&B.s, KG(10)), CURE);
    yes();
    expect_refused(REFUSED_UNFIT);
    expect_notice(NOTICE_UNFIT);
    assert_int_equal(B.notice_ingredient, CURE);
    assert_int_equal(B.s.basis, 0);
    expect_ask(ASK_CONFIRM);
    B.setup.scale_count = 2;
    yes();
    assert_int_equal(B.s.basis, KG(10));
    assert_int_equal(sequence_unfit(&B.s, KG(10)), NO_INGREDIENT);
    assert_int_not_equal(sequence_unfit(&B.s, INT64_MAX), NO_INGREDIENT);
}

/* A limit that can't be worked out lets nothing in. */
static void test_limit_without_content(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    B.formula.ingredients[CURE].content = (struct share){0, 1};
    to_basis();
    yes();
    expect_refused(REFUSED_UNFIT);
}

static void test_unfit_others_want_a_reason(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.formula.ingredients[SEASONING].share = (struct share){1, 1000000}; /* 0.01 g on a scale for 0.2 g and more */
    B.formula.ingredients[SEASONING].way = WAY_CUP;
    B.formula.ingredients[SEASONING].band.under.share = (struct share){1, 2};
    B.formula.ingredients[SEASONING].band.over.share = (struct share){1, 1};
    B.setup.accept_auto = true;
    bench_begin();
    play_until(SEASONING, ASK_CONTAINER);
    expect_notice(NOTICE_UNFIT); /* before a gram is poured */
    assert_int_equal(B.notice_ingredient, SEASONING);
    play_until(SEASONING, ASK_FILL);
    fill_to(MG(10));
    pass(30);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.answers, TAKES(KEEP));
    yes();
    expect_refused(REFUSED_UNFIT);
    keep("");
    expect_refused(REFUSED_VALUE);
    keep("by the spoon");
    assert_string_equal(last_of(REC_WEIGHED)->reason, "by the spoon");
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_IN);
    play_to_end();
}

static void test_unfit_split_and_typed(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.formula.ingredients[SALT].band.under.share = B.formula.ingredients[SALT].band.over.share =
        (struct share){1, 1000}; /* narrower than the bench can show */
    B.who.rights = RIGHT_TYPE;
    bench_begin();
    play_until(SALT, ASK_FILL);
    assert_true(item_of(SALT)->unfit);
    fill_to(G(100));
    done();
    lot("S2"); /* a split is not the acceptance of the whole */
    expect_ask(ASK_FILL);
    unplug(BENCH);
    typed(G(80));
    expect_ask(ASK_CONFIRM);
    yes(); /* weighed elsewhere: this scale's fitness doesn't matter */
    assert_int_equal(item_of(SALT)->manner, MANNER_TYPED);
    play_to_end();
}

/* Unfit and regulated: only where nobody asked before a planned batch; never accepted. */
static void test_unfit_regulated_in_a_plan(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    B.setup.scale_count = 1;
    B.who.rights = RIGHTS_ALL;
    B.formula.ingredients[CURE].weigh_order = 0;
    B.formula.ingredients[PORK].weigh_order = 4;
    bench_begin();
    play_until(CURE, ASK_FILL);
    fill_to(G(25));
    keep("no other scale");
    expect_refused(REFUSED_UNFIT);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
}

static void kits_first(void)
{
    static const uint8_t order[INGREDIENTS] = {5, 6, 0, 1, 2, 3, 4};
    for (uint8_t i = 0; i < INGREDIENTS; i++)
        B.formula.ingredients[i].weigh_order = order[i];
}

/* The kit was weighed for 10 kg, the meat came out at 9.9: above the limit of what is there. */
static void test_plan_with_too_little_meat(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    kits_first();
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(G(6900)); /* in its band */
    yes();
    to_basis();
    yes();
    expect_refused(REFUSED_LIMIT);
    expect_notice(NOTICE_LIMIT);
    assert_int_equal(B.notice_ingredient, CURE);
    no(); /* some more meat */
    play_until(BEEF, ASK_FILL);
    fill_to(G(100));
    yes();
    no();
    yes();
    assert_int_equal(B.s.basis, KG(10));
    play_to_end();
}

/* The meat first, and short: the cure's target follows it down. */
static void test_plan_lowers_what_is_not_weighed_yet(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(G(6900));
    yes();
    to_basis();
    assert_int_equal(item_of(CURE)->target, G(25));
    yes();
    assert_int_equal(item_of(CURE)->target, MG(24750));
    assert_int_equal(item_of(CURE)->high, MG(24750));
    assert_int_equal(item_of(CURE)->low, MG(24500));
    assert_int_equal(item_of(CHEESE)->target, KG(1)); /* not regulated: as planned */
    play_until(CURE, ASK_FILL);
    fill_to(MG(24760));
    expect_ask(ASK_OVER);
    fill_to(MG(24750));
    yes();
    play_to_end();
}

/* A lug is thrown away after the meat block was confirmed, and the one in its place is short. */
static void test_plan_lowers_when_a_lug_is_replaced(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    bench_begin();
    to_basis();
    yes();
    assert_int_equal(item_of(CURE)->target, G(25));
    expect_ask(ASK_CLEAR);
    B.at[BENCH].load -= KG(1); /* somebody takes some out before it is lifted off */
    settle();
    lift(BENCH);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
    answer(ANSWER_DISCARD, "");
    play_until(BEEF, ASK_FILL);
    fill_to(G(2940));
    yes();
    play_until(CURE, ASK_FILL);
    assert_int_equal(item_of(CURE)->target, MG(24850));
    assert_int_equal(item_of(CURE)->high, MG(24850));
    play_to_end();
}

static void test_plan_held_for_want_of_meat(void **state)
{
    (void)state;
    bench_new(BASIS_PLANNED, KG(10));
    kits_first();
    bench_begin();
    play_until(PORK, ASK_FILL);
    fill_to(G(6900));
    yes();
    to_basis();
    answer(ANSWER_HOLD, "no more pork");
    expect_ended(BATCH_HELD, 1);
}

/* Shares of the total: the limit's base is all that goes into the mixer. */
static void test_limit_on_the_total(void **state)
{
    (void)state;
    begin_with(0);
    B.formula.ingredients[CURE].base = BASE_TOTAL;
    B.formula.ingredients[CURE].share = (struct share){1, 500};
    B.limits[CURE].base = BASE_TOTAL;
    B.limits[CURE].share = (struct share){1, 8000}; /* of the substance: exactly 1/500 of the total in cure */
    play_until(CURE, ASK_FILL);
    /* meat 10 kg + water 1 + salt 0.18 + seasoning 0.29982 + cheese 1 = 12.4798236 kg, over 1 - 1/500: 25.0096 g of cure */
    assert_int_equal(B.s.prompt.target, G(25));
    assert_int_equal(B.s.prompt.high, G(25));
    play_to_end();
}

static void test_known_container_counts_its_own_weight(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.cup_empty[SEASONING] = G(310); /* 299.82 g more is too much for 600 g */
    B.cup_off[SEASONING] = G(5);
    B.formula.ingredients[SEASONING].way = WAY_CUP;
    bench_begin();
    play_until(SEASONING, ASK_CLEAR);
    assert_int_equal(B.s.prompt.scale, BENCH);
    play_to_end();
}

static void test_narrow_band_goes_to_the_finer_scale(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.formula.ingredients[CHEESE].share = (struct share){4, 100};
    B.formula.ingredients[CHEESE].band.under = (struct band_side){.given = true, .is_mass = true, .mass = G(1)};
    B.formula.ingredients[CHEESE].band.over = (struct band_side){.given = true, .is_mass = true, .mass = G(1)};
    B.formula.ingredients[CHEESE].critical = false;
    bench_begin();
    play_until(CHEESE, ASK_FILL);
    assert_int_equal(B.s.prompt.scale, FINE);
    assert_int_equal(B.s.prompt.low, G(399));
    B.formula.ingredients[CHEESE].band.over.given = false;
    play_to_end();
}

/* Opened where it may be kept, answered where it may not: two divisions don't open the question anew. */
static void test_limit_crossed_between_question_and_answer(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    B.formula.ingredients[CURE].share = (struct share){1, 500};
    play_until(CURE, ASK_FILL);
    fill_to(MG(24990));
    expect_ask(ASK_OVER);
    assert_int_not_equal(B.s.prompt.answers & TAKES(KEEP), 0);
    fill_to(MG(25010));
    expect_ask(ASK_OVER);
    keep("measured twice");
    expect_refused(REFUSED_LIMIT);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
    fill_to(G(25));
    keep("measured twice");
    assert_int_equal(last_of(REC_WEIGHED)->net, G(25));
}

/* Without the right it is the right that is missing, as long as the limit isn't touched. */
static void test_refusal_names_the_right_reason(void **state)
{
    (void)state;
    begin_with(0);
    B.formula.ingredients[CURE].share = (struct share){1, 500};
    play_until(CURE, ASK_FILL);
    fill_to(G(23));
    keep("measured twice");
    expect_refused(REFUSED_RIGHT);
    fill_to(G(26));
    keep("measured twice");
    expect_refused(REFUSED_LIMIT);
}

static void test_container_that_no_scale_can_carry(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.cup_empty[CHEESE] = KG(15);
    bench_begin();
    to_basis();
    yes();
    assert_true(item_of(CHEESE)->unfit);
    assert_int_equal(item_of(CHEESE)->scale, BENCH);
}

static void test_scales_in_the_other_order(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    struct scale_setup fine = B.scales[FINE];
    B.scales[FINE] = B.scales[BENCH];
    B.scales[BENCH] = fine;
    B.lug[PORK] = KG(7);
    assert_int_equal(bench_init(), FAIL_NONE);
    assert_int_equal(item_of(PORK)->scale, 1); /* where most room is */
    bench_begin();
    play_until(CURE, ASK_LOT);
    assert_int_equal(B.s.prompt.scale, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_usual_dose_is_accepted),
        cmocka_unit_test(test_targets_round_down),
        cmocka_unit_test(test_above_the_limit_is_never_kept),
        cmocka_unit_test(test_between_band_and_limit),
        cmocka_unit_test(test_typed_above_the_limit),
        cmocka_unit_test(test_limit_over_second_lots),
        cmocka_unit_test(test_limit_after_a_spilt_cup),
        cmocka_unit_test(test_portions),
        cmocka_unit_test(test_portions_beyond_the_array),
        cmocka_unit_test(test_unfit_regulated_is_refused_at_the_basis),
        cmocka_unit_test(test_limit_without_content),
        cmocka_unit_test(test_unfit_others_want_a_reason),
        cmocka_unit_test(test_unfit_split_and_typed),
        cmocka_unit_test(test_unfit_regulated_in_a_plan),
        cmocka_unit_test(test_plan_with_too_little_meat),
        cmocka_unit_test(test_plan_lowers_what_is_not_weighed_yet),
        cmocka_unit_test(test_plan_held_for_want_of_meat),
        cmocka_unit_test(test_plan_lowers_when_a_lug_is_replaced),
        cmocka_unit_test(test_limit_on_the_total),
        cmocka_unit_test(test_known_container_counts_its_own_weight),
        cmocka_unit_test(test_narrow_band_goes_to_the_finer_scale),
        cmocka_unit_test(test_limit_crossed_between_question_and_answer),
        cmocka_unit_test(test_refusal_names_the_right_reason),
        cmocka_unit_test(test_container_that_no_scale_can_carry),
        cmocka_unit_test(test_scales_in_the_other_order),
    };
    return cmocka_run_group_tests_name("sequence_limit", tests, NULL, NULL);
}
