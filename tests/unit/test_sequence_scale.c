/* Scale trouble: silent, unplugged, tared at its own keys, restless, wrongly loaded, overloaded. */
#include "tests/unit/seq_bench.h"

static void begin_with(uint8_t rights)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", rights);
}

/* At the confirmation of 24.9 g of cure. */
static void to_confirm(uint8_t rights)
{
    begin_with(rights);
    play_until(CURE, ASK_FILL);
    fill_to(MG(24900));
    expect_ask(ASK_CONFIRM);
}

static bool accepted(uint8_t ingredient)
{
    return item_of(ingredient)->status >= ITEM_WEIGHED;
}

static void test_moving_is_refused(void **state)
{
    (void)state;
    to_confirm(RIGHTS_ALL);
    B.at[FINE].load += MG(20); /* within two divisions: the question stays, but it moves */
    pass(1);
    expect_ask(ASK_CONFIRM);
    yes();
    expect_refused(REFUSED_MOVING);
    assert_int_equal(B.sounds[SOUND_WRONG], 1);
    expect_ask(ASK_CONFIRM); /* stays open, is not repeated */
    settle();
    yes();
    assert_true(accepted(CURE));
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24920)); /* as it was at the answer */
}

static void test_stale_is_refused(void **state)
{
    (void)state;
    to_confirm(RIGHTS_ALL);
    B.at[FINE].mute = true;
    pass(5); /* not silent yet, but too old to be now */
    yes();
    expect_refused(REFUSED_MOVING);
    expect_quiet(NOTICE_SILENT);
    pass(16);
    expect_notice(NOTICE_SILENT);
    assert_int_equal(B.notice_scale, FINE);
    yes();
    expect_refused(REFUSED_STALE);
    assert_false(accepted(CURE));
    pass(50);
    expect_quiet(NOTICE_SILENT); /* said once */
}

static void test_unknown_unit(void **state)
{
    (void)state;
    to_confirm(RIGHTS_ALL);
    B.at[FINE].unit = true;
    pass(3);
    expect_notice(NOTICE_UNIT);
    yes();
    expect_refused(REFUSED_STALE);
    pass(30);
    expect_quiet(NOTICE_UNIT);
    B.at[FINE].unit = false;
    settle();
    yes();
    assert_true(accepted(CURE));
}

static void test_other_scale_does_not_count(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    put(BENCH, G(850)); /* the cup on the wrong platform */
    expect_ask(ASK_CONTAINER);
    put(BENCH, G(875));
    expect_ask(ASK_CONTAINER);
    assert_int_equal(count_of(REC_TARED, item_of(CURE)->id), 0);
}

static void test_back_at_the_same_load(void **state)
{
    (void)state;
    to_confirm(0);
    unplug(FINE);
    expect_notice(NOTICE_UNPLUGGED);
    unplug(FINE);
    expect_quiet(NOTICE_UNPLUGGED);
    yes();
    expect_refused(REFUSED_STALE);
    plug(FINE);
    pass(2);
    expect_notice(NOTICE_BACK);
    expect_ask(ASK_FILL); /* judged anew */
    done();
    expect_refused(REFUSED_MOVING);
    settle();
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24900));
}

static void test_back_at_another_load(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    fill_to(G(10));
    unplug(FINE);
    B.at[FINE].load += MG(14900); /* filled blind: the platform may also have lost its zero */
    plug(FINE);
    pass(30);
    expect_ask(ASK_CLEAR);
    assert_true(B.s.scales[FINE].doubt);
    yes();
    expect_refused(REFUSED_WORD);
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    assert_true(B.s.prompt.back); /* the part-filled one, against its journalled tare */
    put(FINE, G(5));
    expect_ask(ASK_CONTAINER); /* lighter than the empty cup was: not the one */
    expect_notice(NOTICE_CONTAINER);
    lift(FINE);
    put(FINE, MG(12500) + MG(24900));
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24900));
    assert_int_equal(count_of(REC_TARED, item_of(CURE)->id), 1);
}

static void test_back_at_zero(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    fill_to(G(10));
    unplug(FINE);
    B.at[FINE].load = 0; /* the cup was lifted off meanwhile */
    plug(FINE);
    pass(30);
    expect_notice(NOTICE_LOST); /* or it was off, and zeroed the cup away when it came on */
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_EMPTY);
    yes();
    assert_int_equal(last_of(REC_EMPTIED)->why, NOTICE_LOST);
    expect_ask(ASK_CONTAINER);
    assert_true(B.s.prompt.back);
    assert_false(B.s.scales[FINE].doubt); /* proved at zero */
    fill_to(G(25));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, G(25));
}

static void test_part_filled_bag_comes_back(void **state)
{
    (void)state;
    begin_with(0);
    play_until(SEASONING, ASK_FILL);
    fill_to(G(100));
    B.at[FINE].mute = true;
    pass(25);
    B.at[FINE].load -= G(20);
    B.at[FINE].mute = false;
    pass(30);
    expect_ask(ASK_CLEAR);
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    assert_true(B.s.prompt.back);
    put(FINE, G(450)); /* heavier than the full bag was */
    expect_ask(ASK_CONTAINER);
    expect_notice(NOTICE_CONTAINER);
    put(FINE, G(280)); /* taking out of the wrong one doesn't make it the right one */
    expect_ask(ASK_CONTAINER);
    lift(FINE);
    put(FINE, G(280));
    expect_ask(ASK_FILL);
    play_to_end();
}

static void test_tared_at_its_own_keys(void **state)
{
    (void)state;
    begin_with(RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    B.at[FINE].keys = B.at[FINE].load;
    put(FINE, B.at[FINE].load + MG(24900)); /* shows 24.90 g net */
    expect_notice(NOTICE_TARED);
    expect_ask(ASK_FILL);
    done();
    expect_refused(REFUSED_STALE);
    B.at[FINE].keys = 0;
    pass(30);
    expect_ask(ASK_CLEAR); /* at another load than it was known at */
    lift(FINE);
    put(FINE, MG(37400));
    expect_ask(ASK_CONFIRM);
    B.at[FINE].keys = B.at[FINE].load;
    pass(2);
    expect_notice(NOTICE_TARED); /* said again for another time */
    yes();
    expect_refused(REFUSED_STALE);
    B.at[FINE].keys = 0;
    pass(30);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24900));
}

static void test_restless_mark(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    B.at[FINE].restless = true;
    fill_to(MG(24900));
    expect_ask(ASK_FILL);
    expect_quiet(NOTICE_MOTION);
    pass(60);
    expect_ask(ASK_CONFIRM); /* past its time, and a person decides */
    expect_notice(NOTICE_MOTION);
    pass(10);
    expect_quiet(NOTICE_MOTION);
    yes();
    assert_true(last_of(REC_WEIGHED)->disputed);
}

static void test_restless_mark_at_the_tare(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    B.at[FINE].restless = true;
    put(FINE, MG(12500));
    expect_ask(ASK_CONTAINER);
    pass(60);
    expect_ask(ASK_FILL);
    expect_notice(NOTICE_MOTION);
    assert_true(last_of(REC_TARED)->disputed);
}

static void test_known_container(void **state)
{
    (void)state;
    begin_with(0);
    B.cup_empty[CURE] = G(40);
    B.cup_off[CURE] = MG(500);
    play_until(CURE, ASK_CONTAINER);
    assert_true(B.s.prompt.has_empty);
    assert_int_equal(B.s.prompt.empty, G(40));
    put(FINE, MG(40510));
    expect_ask(ASK_CONTAINER);
    expect_notice(NOTICE_CONTAINER);
    assert_int_equal(B.notice_mass, MG(40510));
    pass(30);
    expect_quiet(NOTICE_CONTAINER);
    lift(FINE);
    put(FINE, MG(39490));
    expect_notice(NOTICE_CONTAINER); /* another one, said again */
    put(FINE, MG(39500));
    expect_ask(ASK_FILL);
    assert_true(last_of(REC_TARED)->known);
    assert_int_equal(last_of(REC_TARED)->tare, MG(39500));
}

/* A draught on the platform while the cup is at the bin: it is not told of as another cup, which the right one could not undo. */
static void test_draught_on_an_empty_platform_is_no_cup(void **state)
{
    mass_pg d = B.scales[FINE].division;
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(140));
    expect_ask(ASK_FILL);
    put(FINE, 5 * d);
    expect_quiet(NOTICE_CONTAINER);
    put(FINE, G(140) + item_of(CURE)->target);
    expect_ask(ASK_CONFIRM);
    put(FINE, 6 * d);
    expect_notice(NOTICE_CONTAINER);
}

/* A lighter cup than the one that was tared: filled up to the target's net it would hold far more than the target. */
static void test_lighter_cup_in_mid_fill(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(140));
    expect_ask(ASK_FILL);
    put(FINE, G(140) - 5 * B.scales[FINE].division); /* as much as a zero drifts */
    expect_quiet(NOTICE_CONTAINER);
    lift(FINE);
    expect_quiet(NOTICE_CONTAINER);
    put(FINE, G(85));
    expect_notice(NOTICE_CONTAINER);
    assert_int_equal(B.notice_mass, G(85));
    put(FINE, G(140) + item_of(CURE)->target); /* what is put into it doesn't make it the right one */
    expect_ask(ASK_FILL);
    yes();
    expect_refused(REFUSED_WORD);
    bench_restart();
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(85));
    expect_notice(NOTICE_CONTAINER);
    put(FINE, G(140) + item_of(CURE)->target);
    expect_ask(ASK_CONTAINER);
    lift(FINE);
    put(FINE, G(140));
    expect_ask(ASK_FILL);
    fill_to(item_of(CURE)->target);
    expect_ask(ASK_CONFIRM);
    put(FINE, G(85)); /* another one instead, just before the answer */
    expect_ask(ASK_FILL);
    expect_notice(NOTICE_CONTAINER);
    lift(FINE);
    put(FINE, G(140) + item_of(CURE)->target);
    expect_ask(ASK_CONFIRM);
    put(FINE, G(85));
    expect_notice(NOTICE_CONTAINER);
    B.at[FINE].load = 0;
    pass(2); /* changed for the right one before the platform comes to rest */
    put(FINE, G(140) + item_of(CURE)->target);
    expect_ask(ASK_CONFIRM);
    bench_restart();
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(85));
    expect_notice(NOTICE_CONTAINER);
    B.at[FINE].load = 0;
    pass(2);
    put(FINE, G(140) + item_of(CURE)->target);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
}

static void test_container_too_heavy(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    put(FINE, MG(575010)); /* 600 g less this is below 25 g */
    expect_ask(ASK_CONTAINER);
    expect_notice(NOTICE_CONTAINER);
    put(FINE, G(575));
    expect_ask(ASK_FILL);

    begin_with(0);
    play_until(WATER, ASK_CONTAINER);
    put(BENCH, G(13900)); /* would hold the water, but not the salt after it */
    expect_notice(NOTICE_CONTAINER);
    expect_ask(ASK_CONTAINER);
    put(BENCH, G(13820));
    expect_ask(ASK_FILL);
}

static void test_overload(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(570));
    fill_to(MG(24900));
    expect_ask(ASK_CONFIRM);
    B.at[FINE].load = G(700);
    pass(1);
    expect_ask(ASK_FILL);
    expect_notice(NOTICE_OVERLOAD);
    settle();
    expect_quiet(NOTICE_OVERLOAD); /* once a spell */
    done();
    expect_refused(REFUSED_STALE);
    play_until(CURE, ASK_CONFIRM);
}

static void test_below_zero(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_LOT);
    put(FINE, -MG(20));
    lot("C1");
    pass(1);
    expect_ask(ASK_CLEAR);
    expect_notice(NOTICE_ZERO);
    pass(30);
    expect_quiet(NOTICE_ZERO);
    put(FINE, MG(20));
    expect_ask(ASK_CLEAR);
    put(FINE, MG(10)); /* a division is zero */
    expect_ask(ASK_CONTAINER);
    put(FINE, MG(20));
    expect_ask(ASK_CONTAINER); /* two are not a container */
    put(FINE, MG(30));         /* as seen from where it was empty */
    expect_ask(ASK_CONTAINER);
    put(FINE, MG(40));
    expect_ask(ASK_FILL);
}

static void test_dead_scale_never_blocks_a_restart(void **state)
{
    (void)state;
    begin_with(0);
    play_until(PORK, ASK_FILL);
    unplug(FINE);
    bench_restart();
    person("AB", RIGHT_TYPE);
    yes();
    expect_ask(ASK_CLEAR);
    assert_int_equal(B.s.prompt.scale, BENCH);
    lift(BENCH);
    expect_ask(ASK_CONTAINER); /* the fine scale is dead and waits for its turn */
    assert_true(B.s.prompt.back);

    bench_restart(); /* now it dies in the very proof, without a word */
    person("AB", RIGHT_TYPE);
    plug(FINE);
    B.at[FINE].load = G(3);
    yes();
    lift(BENCH);
    expect_ask(ASK_CLEAR);
    assert_int_equal(B.s.prompt.scale, FINE);
    B.at[FINE].mute = true;
    pass(40);
    expect_ask(ASK_CONTAINER);
    B.at[FINE].mute = false;
    B.at[FINE].load = G(3); /* what stands on it nobody knows */
    pass(30);
    assert_true(B.s.scales[FINE].doubt);
    play_until(CURE, ASK_CLEAR);
    assert_int_equal(B.s.prompt.scale, FINE);
    play_to_end();
}

static void test_scale_that_never_spoke(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.at[BENCH].mute = true;
    B.who.rights = RIGHT_TYPE;
    bench_begin();
    lot("P1");
    expect_ask(ASK_CLEAR);
    typed(KG(7));
    expect_refused(REFUSED_LIVE); /* it may yet speak */
    assert_int_equal(sequence_next(&B.s, B.now), B.now + 2000001);
    pass(21);
    expect_notice(NOTICE_SILENT);
    typed(KG(7));
    expect_ask(ASK_CONFIRM);
    yes();
    play_to_end();
}

static void test_platform_dies_before_an_addition(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    second("OTHER");
    expect_ask(ASK_CLEAR); /* the cheese and the bag still stand on their platforms */
    uint8_t scale = B.s.prompt.scale;
    assert_int_equal(B.s.prompt.ingredient, NO_INGREDIENT);
    person("AB2", 0);
    expect_ask(ASK_CLEAR);
    unplug(scale);
    pass(1);
    expect_ask(ASK_CLEAR);
    assert_int_not_equal(B.s.prompt.scale, scale);
    unplug(B.s.prompt.scale);
    person("AB3", 0);
    expect_ask(ASK_ADD);
    yes();
    expect_ask(ASK_ADD);
    play_to_end();
}

static void test_next_moments(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    settle();
    uint64_t next = sequence_next(&B.s, B.now);
    assert_true(next > B.now && next <= B.now + 2000001); /* settled: the moment at which that grows old */
    unplug(BENCH);
    unplug(FINE);
    assert_int_equal(sequence_next(&B.s, B.now), 0); /* nothing can happen by itself */
    mass_pg gross;
    assert_int_equal(sequence_scale(&B.s, BENCH, B.now, &gross), SETTLE_SILENT);
}

static void test_events_that_say_nothing(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    struct event odd[] = {
        {.kind = EV_LINK, .scale = FINE, .link = LINK_UP},
        {.kind = EV_LINK, .scale = FINE, .link = LINK_SILENT},
        {.kind = EV_LINK, .scale = 200, .link = LINK_UNPLUGGED},
        {.kind = EV_READING, .scale = 200},
        {.kind = EV_STORED},
        {.kind = EV_STORE_FAILED},
    };
    for (unsigned k = 0; k < sizeof odd / sizeof odd[0]; k++)
        bench_event(&odd[k]);
    expect_ask(ASK_FILL);
    assert_int_equal(B.s.scales[FINE].link, LINK_UP);
}

/* The disk fails while a yes is under way, and the weight moves meanwhile: the same question, but not the same answer. */
static void test_moved_while_storing(void **state)
{
    (void)state;
    to_confirm(0);
    B.keeps_waiting = true;
    yes();
    put(FINE, B.at[FINE].load - G(5));
    B.fail_at = 1;
    store_answers();
    expect_ask(ASK_CONFIRM);
    yes();
    expect_refused(REFUSED_BAND);
    assert_false(accepted(CURE));
    pass(1);
    expect_ask(ASK_FILL);

    to_confirm(0);
    B.keeps_waiting = true;
    yes();
    put(FINE, B.at[FINE].load - MG(100)); /* to another weight in the band */
    B.fail_at = 1;
    store_answers();
    uint32_t prompt = B.s.prompt.id;
    unsigned prompts = B.prompts;
    pass(1);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.net, MG(24800));
    assert_true(B.s.prompt.id > prompt);
    assert_int_equal(B.prompts, prompts + 1); /* what was open for no time is not announced */
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, MG(24800));
}

static void test_platform_dies_while_somebody_signs_in(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    second("OTHER");
    expect_ask(ASK_CLEAR);
    unplug(FINE);
    B.keeps_waiting = true;
    person("AB2", 0);
    unplug(BENCH);
    store_answers();
    expect_ask(ASK_ADD);
}

static void test_wild_readings(void **state)
{
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_FILL);
    mass_pg wild[] = {INT64_MIN, INT64_MAX, INT64_MIN + 1, -KG(9000), KG(9000)};
    for (unsigned k = 0; k < sizeof wild / sizeof wild[0]; k++)
        for (unsigned n = 0; n < 15; n++) {
            struct event ev = {.kind = EV_READING, .scale = FINE};
            B.now += 100000;
            ev.reading = (struct reading){
                .mass = wild[k], .at = B.now, .since = B.now - 100000, .state = READING_STABLE, .basis = BASIS_GROSS};
            bench_event(&ev);
            mass_pg net;
            (void)sequence_net(&B.s, B.now, &net);
        }
    assert_false(accepted(CURE));
    lift(FINE);
    expect_ask(ASK_CONFIRM); /* far below zero is not where it was tared */
    assert_int_equal(B.s.prompt.what, WHAT_EMPTY);
    yes();
    put(FINE, MG(12500) + G(25));
    expect_ask(ASK_CONFIRM);
}

static void test_below_its_zero_range(void **state)
{
    (void)state;
    to_confirm(0);
    B.at[FINE].load = -KG(2);
    pass(1);
    expect_ask(ASK_FILL);
    settle();
    done();
    expect_refused(REFUSED_STALE);
}

static void test_net_only_where_there_is_one(void **state)
{
    mass_pg net;
    (void)state;
    begin_with(0);
    play_until(CURE, ASK_CONTAINER);
    assert_false(sequence_net(&B.s, B.now, &net)); /* no tare yet */
    play_until(CURE, ASK_FILL);
    assert_true(sequence_net(&B.s, B.now, &net));
    assert_int_equal(net, 0);
    B.at[FINE].mute = true;
    pass(25);
    assert_false(sequence_net(&B.s, B.now, &net));
    play_until(NO_INGREDIENT, ASK_ADD);
    assert_false(sequence_net(&B.s, B.now, &net));
    play_to_end();
    assert_false(sequence_net(&B.s, B.now, &net)); /* nothing is worked on */
}

static void test_scale_with_a_limit_of_its_own(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.scales[BENCH].settle.silent_us = 5000000;
    bench_begin();
    lot("P1");
    pass(5);
    B.at[BENCH].mute = true;
    pass(49);
    expect_quiet(NOTICE_SILENT);
    pass(2);
    expect_notice(NOTICE_SILENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_moving_is_refused),
        cmocka_unit_test(test_stale_is_refused),
        cmocka_unit_test(test_unknown_unit),
        cmocka_unit_test(test_other_scale_does_not_count),
        cmocka_unit_test(test_back_at_the_same_load),
        cmocka_unit_test(test_back_at_another_load),
        cmocka_unit_test(test_back_at_zero),
        cmocka_unit_test(test_part_filled_bag_comes_back),
        cmocka_unit_test(test_tared_at_its_own_keys),
        cmocka_unit_test(test_restless_mark),
        cmocka_unit_test(test_restless_mark_at_the_tare),
        cmocka_unit_test(test_known_container),
        cmocka_unit_test(test_draught_on_an_empty_platform_is_no_cup),
        cmocka_unit_test(test_lighter_cup_in_mid_fill),
        cmocka_unit_test(test_container_too_heavy),
        cmocka_unit_test(test_overload),
        cmocka_unit_test(test_below_zero),
        cmocka_unit_test(test_dead_scale_never_blocks_a_restart),
        cmocka_unit_test(test_scale_that_never_spoke),
        cmocka_unit_test(test_platform_dies_before_an_addition),
        cmocka_unit_test(test_next_moments),
        cmocka_unit_test(test_events_that_say_nothing),
        cmocka_unit_test(test_moved_while_storing),
        cmocka_unit_test(test_platform_dies_while_somebody_signs_in),
        cmocka_unit_test(test_wild_readings),
        cmocka_unit_test(test_below_its_zero_range),
        cmocka_unit_test(test_net_only_where_there_is_one),
        cmocka_unit_test(test_scale_with_a_limit_of_its_own),
    };
    return cmocka_run_group_tests_name("sequence_scale", tests, NULL, NULL);
}
