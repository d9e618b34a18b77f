/* What goes wrong at the bench: over, under, held, a check out of limits, a second look. */
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
    assert_int_equal(B.s.prompt.take, G(30)); /* down to 180 g, not onto the edge */
    yes();
    expect_refused(REFUSED_WORD); /* nothing out of its band by a yes */
    answer(ANSWER_DONE, "");
    expect_refused(REFUSED_WORD);
    assert_int_equal(count_of(REC_WEIGHED, item_of(SALT)->id), 0);
    fill_to(G(195));
    expect_ask(ASK_OVER);
    assert_int_equal(B.s.prompt.take, G(15)); /* the question follows what is done */
    assert_int_equal(B.sounds[SOUND_OVER], 1);
    fill_to(G(185));
    expect_ask(ASK_CONFIRM); /* both ends of the band count */
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, G(185));
    assert_int_equal(last_of(REC_WEIGHED)->verdict, VERDICT_IN);
    fill_to(0);
}

/* On the very edge its noise brings it above again and again: one miss, told once. */
static void test_over_that_flickers_about_the_edge(void **state)
{
    (void)state;
    begin_with(RIGHT_ACCEPT);
    play_until(CURE, ASK_FILL);
    const mass_pg high = item_of(CURE)->high, division = B.scales[item_of(CURE)->scale].division;
    fill_to(high + 4 * division);
    expect_ask(ASK_OVER);
    const mass_pg inside = B.s.prompt.net - B.s.prompt.take;
    assert_true(inside <= high - 2 * division && inside >= item_of(CURE)->low);
    unsigned prompts = B.prompts;
    for (int k = 0; k < 10; k++) {
        fill_to(high);
        expect_ask(ASK_CONFIRM);
        fill_to(high + division);
        expect_ask(ASK_OVER);
    }
    assert_int_equal(B.prompts - prompts, 20);
    assert_int_equal(B.notices[NOTICE_OVER], 1);
    assert_int_equal(B.sounds[SOUND_OVER], 1);
    fill_to(inside); /* over and done with: the next one is another miss */
    fill_to(high + 2 * division);
    assert_int_equal(B.notices[NOTICE_OVER], 2);
    fill_to(high);
    fill_to(high + 9 * division); /* and so is one that is far worse */
    assert_int_equal(B.notices[NOTICE_OVER], 3);
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
        cmocka_unit_test(test_over_that_flickers_about_the_edge),
        cmocka_unit_test(test_over_taken_out_too_far),
        cmocka_unit_test(test_keep_with_and_without_the_right),
        cmocka_unit_test(test_keep_of_what_moves),
        cmocka_unit_test(test_right_is_that_of_who_signs),
        cmocka_unit_test(test_under_opens_only_after_done),
        cmocka_unit_test(test_short),
        cmocka_unit_test(test_done_and_short_without_the_cup),
        cmocka_unit_test(test_hold_and_release),
        cmocka_unit_test(test_held_can_be_stopped),
        cmocka_unit_test(test_check_out_of_limits),
        cmocka_unit_test(test_check_edges_and_hold),
        cmocka_unit_test(test_critical_asks_a_second_time),
        cmocka_unit_test(test_critical_short_and_split),
        cmocka_unit_test(test_critical_lug_of_a_plan),
        cmocka_unit_test(test_planned_meat_over_and_under),
        cmocka_unit_test(test_scale_of_no_class),
    };
    return cmocka_run_group_tests_name("sequence_miss", tests, NULL, NULL);
}
