/* A yes that waits: said while the weight rests in its band but is not settled yet. What is recorded is settled all the same; the
 * bench judges every record. */
#include <string.h>

#include "tests/unit/seq_bench.h"

/* At the filling of an ingredient; its band is wider than the few divisions that are played with. */
static const struct item *to_fill(uint8_t ingredient)
{
    bench_new(BASIS_WEIGHED, 0);
    B.who = (struct person){.code = "AB", .rights = RIGHTS_ALL};
    bench_begin();
    play_until(ingredient, ASK_FILL);
    return item_of(ingredient);
}

static mass_pg division(const struct item *it)
{
    return B.scales[it->scale].division;
}

/* The net stands there from one moment to the next. */
static void stand_at(const struct item *it, mass_pg net)
{
    B.at[it->scale].load = it->tare + net;
}

static void until_it_rests(void)
{
    for (unsigned k = 0; k < 20 && !sequence_rests(&B.s, B.now); k++)
        pass(1);
    assert_true(sequence_rests(&B.s, B.now));
    expect_ask(ASK_FILL);
}

/* A yes was said to this net, and waits. */
static const struct item *said_yes(uint8_t ingredient)
{
    const struct item *it = to_fill(ingredient);
    stand_at(it, it->target);
    until_it_rests();
    yes();
    expect_refused(REFUSED_COUNT);
    expect_ask(ASK_FILL);
    assert_true(B.s.yes_since == B.now);
    return it;
}

static bool weighed(uint8_t ingredient)
{
    const struct record *r = last_of(REC_WEIGHED);
    return r && r->ingredient == ingredient;
}

static void expect_taken_back(uint8_t ingredient)
{
    expect_refused(REFUSED_MOVING);
    assert_false(weighed(ingredient));
    assert_true(B.s.yes_since == 0);
}

static void test_it_waits_until_settled(void **state)
{
    (void)state;
    const struct item *it = said_yes(CURE);
    unsigned prompts = B.prompts;
    mass_pg gross;
    assert_false(weighed(CURE));
    assert_int_equal(sequence_scale(&B.s, it->scale, B.now, &gross), SETTLE_MOVING);
    while (!weighed(CURE)) {
        assert_int_equal(B.prompts, prompts); /* no question in between */
        pass(1);
    }
    assert_in_range(B.now - B.s.scales[it->scale].settle.level_since, 950000, 1150000);
    assert_true(last_of(REC_WEIGHED)->net == it->target);
    expect_refused(REFUSED_COUNT);
}

/* Nobody is kept waiting who has not said yes: the question comes as ever. */
static void test_without_it_the_question_comes(void **state)
{
    (void)state;
    const struct item *it = to_fill(CURE);
    stand_at(it, it->target);
    until_it_rests();
    pass(10);
    expect_ask(ASK_CONFIRM);
    assert_false(sequence_rests(&B.s, B.now));
    yes();
    assert_true(weighed(CURE));
}

static void test_not_while_it_moves(void **state)
{
    (void)state;
    const struct item *it = to_fill(CURE);
    stand_at(it, it->target);
    for (unsigned k = 0; k < 4; k++) {
        pass(1);
        assert_false(sequence_rests(&B.s, B.now));
        yes();
        expect_refused(REFUSED_MOVING);
        B.refused = REFUSED_COUNT;
    }
    pass(20);
    expect_ask(ASK_CONFIRM); /* what was refused does not wait */
}

static void test_not_out_of_its_band(void **state)
{
    (void)state;
    const struct item *it = to_fill(CURE);
    const mass_pg nets[] = {0, it->low - division(it), it->high + division(it)};
    for (unsigned k = 0; k < sizeof nets / sizeof *nets; k++) {
        stand_at(it, nets[k]);
        pass(7);
        assert_false(sequence_rests(&B.s, B.now));
        yes();
        expect_refused(REFUSED_WORD);
        B.refused = REFUSED_COUNT;
    }
}

/* Every weight of its band may be said yes to, at both its edges too. */
static void test_at_the_edges_of_its_band(void **state)
{
    (void)state;
    for (unsigned high = 0; high < 2; high++) {
        const struct item *it = to_fill(SALT);
        stand_at(it, high ? it->high : it->low);
        until_it_rests();
        yes();
        pass(10);
        assert_true(weighed(SALT));
    }
}

static void test_it_stands_within_a_division(void **state)
{
    (void)state;
    const struct item *it = said_yes(CURE);
    stand_at(it, it->target - division(it));
    pass(20);
    assert_true(weighed(CURE));
    assert_true(last_of(REC_WEIGHED)->net ==
                it->target - division(it)); /* the settled weight, not the one it was said to */
}

static void test_taken_back_when_it_moves(void **state)
{
    (void)state;
    for (int sign = -1; sign <= 1; sign += 2) {
        const struct item *it = said_yes(CHEESE);
        stand_at(it, it->target + sign * 2 * division(it));
        pass(1);
        expect_taken_back(CHEESE);
        assert_int_equal(B.sounds[SOUND_WRONG], 1);
        B.refused = REFUSED_COUNT;
        pass(20);
        expect_ask(ASK_CONFIRM);
        expect_refused(REFUSED_COUNT); /* it is said once */
    }
}

static void test_taken_back_when_it_leaves_its_band(void **state)
{
    (void)state;
    const struct item *it = to_fill(SALT);
    stand_at(it, it->high);
    until_it_rests();
    yes();
    stand_at(it, it->high + division(it));
    pass(1);
    expect_taken_back(SALT);
    pass(15);
    expect_ask(ASK_OVER);
}

/* Lifted off before it was recorded: nothing was. */
static void test_lifted_too_soon(void **state)
{
    (void)state;
    const struct item *it = said_yes(CURE);
    B.at[it->scale].load = 0;
    pass(1);
    expect_taken_back(CURE);
    pass(15);
    expect_ask(ASK_FILL);
    B.at[it->scale].load = it->tare + it->target;
    pass(15);
    expect_ask(ASK_CONFIRM);
}

static void test_unplugged_meanwhile(void **state)
{
    (void)state;
    const struct item *it = said_yes(CURE);
    unplug(it->scale);
    pass(40);
    assert_true(B.s.yes_since == 0);
    assert_false(weighed(CURE));
}

/* That the scale's mark disagrees, the person has not been told when the yes is said: another one is wanted. */
static void test_the_mark_disagrees(void **state)
{
    (void)state;
    const struct item *it = to_fill(CURE);
    B.at[it->scale].restless = true;
    stand_at(it, it->target);
    until_it_rests();
    yes();
    pass(25);
    expect_ask(ASK_CONFIRM);
    expect_notice(NOTICE_MOTION);
    assert_false(weighed(CURE));
    yes();
    assert_true(weighed(CURE));
    assert_true(last_of(REC_WEIGHED)->disputed);
}

/* The question came while it was still. */
static const struct item *asked_of(uint8_t ingredient)
{
    const struct item *it = to_fill(ingredient);
    stand_at(it, it->target);
    pass(15);
    expect_ask(ASK_CONFIRM);
    return it;
}

/* Nobody has to answer in the very moment in which a figure that flickers is taken for still. */
static void test_a_platform_that_shakes(void **state)
{
    (void)state;
    const struct item *it = asked_of(SALT);
    unsigned prompts = B.prompts;
    stand_at(it, it->target + division(it));
    pass(1);
    yes();
    expect_refused(REFUSED_COUNT);
    assert_true(B.s.yes_since == B.now);
    for (unsigned k = 0; k < 30 && !weighed(SALT); k++) {
        assert_int_equal(B.prompts, prompts);
        stand_at(it, it->target + (k & 1 ? division(it) : 0));
        pass(1);
    }
    assert_true(weighed(SALT));
    expect_refused(REFUSED_COUNT);
}

/* What it shows now is not what it showed when the question came; or it is too old. */
static void test_asked_of_another_weight(void **state)
{
    (void)state;
    const struct item *it = asked_of(CHEESE);
    stand_at(it, it->target + 2 * division(it));
    pass(1);
    expect_ask(ASK_CONFIRM);
    yes();
    expect_taken_back(CHEESE);
    B.refused = REFUSED_COUNT;
    it = asked_of(CHEESE);
    B.at[it->scale].mute = true;
    pass(5);
    yes();
    expect_taken_back(CHEESE);
}

static void test_the_mark_disagrees_after_the_question(void **state)
{
    (void)state;
    const struct item *it = asked_of(SALT);
    B.at[it->scale].restless = true;
    stand_at(it, it->target + division(it));
    pass(1);
    yes();
    expect_refused(REFUSED_COUNT);
    pass(28);
    expect_taken_back(SALT);
    expect_notice(NOTICE_MOTION);
    expect_ask(ASK_CONFIRM);
    yes();
    assert_true(weighed(SALT));
}

/* The person was told of it before: no second yes is wanted for the same. */
static void test_the_mark_disagreed_before(void **state)
{
    (void)state;
    const struct item *it = to_fill(SALT);
    B.at[it->scale].restless = true;
    stand_at(it, it->target);
    pass(25);
    expect_ask(ASK_CONFIRM);
    expect_notice(NOTICE_MOTION);
    stand_at(it, it->target + division(it));
    pass(1);
    yes();
    expect_refused(REFUSED_COUNT);
    pass(28);
    expect_refused(REFUSED_COUNT);
    assert_true(weighed(SALT));
    assert_true(last_of(REC_WEIGHED)->disputed);
}

/* A figure that creeps to and fro over two divisions stands nowhere for long enough. */
static void test_it_does_not_wait_for_ever(void **state)
{
    (void)state;
    const struct item *it = said_yes(CHEESE);
    uint64_t since = B.now;
    for (unsigned k = 0; B.s.yes_since; k++) {
        expect_refused(REFUSED_COUNT);
        stand_at(it, it->target + (k / 8 % 2 ? 0 : k / 16 % 2 ? division(it) : -division(it)));
        pass(1);
    }
    assert_in_range(B.now - since, 3000000, 3150000);
    expect_taken_back(CHEESE);
}

static void test_a_critical_one_is_looked_at_twice(void **state)
{
    (void)state;
    (void)said_yes(CHEESE);
    pass(10);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    assert_false(weighed(CHEESE));
    yes();
    assert_true(weighed(CHEESE));
}

/* A reason is wanted there, and a bare yes has none. */
static void test_not_on_an_unfit_scale(void **state)
{
    (void)state;
    const struct item *it = to_fill(CHEESE);
    B.items[it->id - 1].unfit = true;
    B.twin_items[it->id - 1].unfit = true;
    stand_at(it, it->target);
    pass(7);
    assert_false(sequence_rests(&B.s, B.now));
    yes();
    expect_refused(REFUSED_WORD);
}

static void test_of_a_lug_without_a_plan(void **state)
{
    (void)state;
    const struct item *it = to_fill(PORK);
    stand_at(it, KG(6));
    until_it_rests();
    yes();
    pass(10);
    assert_true(weighed(PORK));
    expect_ask(ASK_MORE);
}

static void test_said_twice(void **state)
{
    (void)state;
    (void)said_yes(CURE);
    uint64_t since = B.s.yes_since;
    pass(1);
    yes();
    expect_refused(REFUSED_COUNT);
    assert_true(B.s.yes_since == since);
    pass(10);
    assert_true(weighed(CURE));
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 1);
}

/* A pause, "no more comes" and another person are other answers: the yes is forgotten with the question. */
static void test_another_answer_meanwhile(void **state)
{
    (void)state;
    (void)said_yes(CURE);
    answer(ANSWER_PAUSE, "");
    assert_true(B.s.yes_since == 0); /* nor is it said to wait */
    pass(20);
    assert_false(weighed(CURE));
    answer(ANSWER_GO, "");
    assert_true(B.s.yes_since == 0);
    (void)said_yes(CURE);
    answer(ANSWER_DISCARD, "");
    pass(20);
    assert_false(weighed(CURE));
    assert_true(B.s.yes_since == 0);
}

/* Whoever says another word has changed their mind, and what is refused then is not the yes any more: nothing may wait that
 * nobody can tell of. */
static void test_another_word_after_it(void **state)
{
    (void)state;
    static const enum answer_word words[] = {ANSWER_DONE, ANSWER_NO, ANSWER_TYPED};
    static const enum refusal_code codes[] = {REFUSED_MOVING, REFUSED_WORD, REFUSED_LIVE};
    for (unsigned k = 0; k < sizeof words / sizeof *words; k++) {
        (void)said_yes(CURE);
        answer(words[k], "");
        expect_refused(codes[k]);
        assert_true(B.s.yes_since == 0);
        B.refused = REFUSED_COUNT;
        pass(20);
        expect_ask(ASK_CONFIRM);
        expect_refused(REFUSED_COUNT);
        assert_false(weighed(CURE));
    }
}

/* Who said yes is not who would stand in the record. */
static void test_another_person_meanwhile(void **state)
{
    (void)state;
    (void)said_yes(CURE);
    struct event ev = {.kind = EV_SIGN_IN, .person = {.code = "CD", .rights = RIGHTS_ALL}};
    bench_event(&ev);
    assert_true(B.s.yes_since == 0);
    pass(20);
    expect_ask(ASK_CONFIRM);
    assert_false(weighed(CURE));
}

static void test_what_could_not_be_stored(void **state)
{
    (void)state;
    (void)said_yes(CURE);
    B.fail_at = 1;
    pass(10);
    expect_notice(NOTICE_STORE);
    assert_false(weighed(CURE));
    assert_true(B.s.yes_since == 0);
    pass(25);
    expect_ask(ASK_CONFIRM);
}

static void test_never_where_two_lines_stand_for_rest(void **state)
{
    (void)state;
    const struct item *it = to_fill(CURE);
    B.scales[it->scale].agreeing = true;
    stand_at(it, it->target);
    pass(4);
    assert_false(sequence_rests(&B.s, B.now));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_it_waits_until_settled),
        cmocka_unit_test(test_without_it_the_question_comes),
        cmocka_unit_test(test_not_while_it_moves),
        cmocka_unit_test(test_not_out_of_its_band),
        cmocka_unit_test(test_at_the_edges_of_its_band),
        cmocka_unit_test(test_it_stands_within_a_division),
        cmocka_unit_test(test_taken_back_when_it_moves),
        cmocka_unit_test(test_taken_back_when_it_leaves_its_band),
        cmocka_unit_test(test_lifted_too_soon),
        cmocka_unit_test(test_unplugged_meanwhile),
        cmocka_unit_test(test_the_mark_disagrees),
        cmocka_unit_test(test_a_platform_that_shakes),
        cmocka_unit_test(test_asked_of_another_weight),
        cmocka_unit_test(test_the_mark_disagrees_after_the_question),
        cmocka_unit_test(test_the_mark_disagreed_before),
        cmocka_unit_test(test_it_does_not_wait_for_ever),
        cmocka_unit_test(test_a_critical_one_is_looked_at_twice),
        cmocka_unit_test(test_not_on_an_unfit_scale),
        cmocka_unit_test(test_of_a_lug_without_a_plan),
        cmocka_unit_test(test_said_twice),
        cmocka_unit_test(test_another_answer_meanwhile),
        cmocka_unit_test(test_another_word_after_it),
        cmocka_unit_test(test_another_person_meanwhile),
        cmocka_unit_test(test_what_could_not_be_stored),
        cmocka_unit_test(test_never_where_two_lines_stand_for_rest),
    };
    return cmocka_run_group_tests_name("sequence_early", tests, NULL, NULL);
}
