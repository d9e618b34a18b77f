/* Words that are refused, who may say them, pausing and ending, and a store that fails. */
#include "tests/unit/seq_bench.h"

#include <string.h>

static void begin(void)
{
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
}

static void test_refusals(void **state)
{
    (void)state;
    begin();
    expect_ask(ASK_LOT);
    uint32_t prompt = B.s.prompt.id;
    answer_to(prompt + 1, ANSWER_YES);
    expect_refused(REFUSED_CLOSED);
    answer_to(0, ANSWER_LOT);
    expect_refused(REFUSED_CLOSED);
    for (unsigned word = 0; word <= ANSWER_COUNT; word++) {
        if (word == ANSWER_LOT || (word >= ANSWER_PAUSE && word < ANSWER_COUNT))
            continue;
        answer((enum answer_word)word, "x");
        expect_refused(REFUSED_WORD);
    }
    lot("");
    expect_refused(REFUSED_VALUE);
    assert_int_equal(B.s.prompt.id, prompt); /* a refusal leaves it open and doesn't repeat it */
    assert_int_equal(B.stored_count, 0);
    lot("P1");
    answer_to(prompt, ANSWER_LOT); /* the same key once more */
    expect_refused(REFUSED_CLOSED);
    assert_int_equal(count_of(REC_LOT, 0), 1);
}

static void test_nothing_but_the_store_is_heard_while_storing(void **state)
{
    (void)state;
    begin();
    B.keeps_waiting = true;
    lot("P1");
    assert_true(B.s.storing);
    lot("P2");
    expect_refused(REFUSED_STORING);
    answer(ANSWER_STOP, "");
    expect_refused(REFUSED_STORING);
    assert_int_equal(item_of(PORK)->lot_known, false);
    pass(10); /* weights may come and go */
    assert_true(B.s.storing);
    store_answers();
    assert_string_equal(item_of(PORK)->lot, "P1");
    expect_ask(ASK_CLEAR);
}

static void test_people(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    expect_ask(ASK_PERSON);
    yes();
    expect_refused(REFUSED_WORD);
    person("", 0); /* not known */
    expect_refused(REFUSED_PERSON);
    person("AB", 0);
    expect_ask(ASK_LOT);
    assert_int_equal(B.stored_count, 0); /* no batch yet: nothing to write about */
    person("CD", 0);
    assert_int_equal(B.stored_count, 0);
    lot("P1");
    assert_string_equal(B.stored[0].person, "CD");
    uint32_t prompt = B.s.prompt.id;
    person("EF", RIGHT_ACCEPT);
    assert_int_equal(count_of(REC_SIGNED_IN, 0), 1);
    assert_string_equal(last_of(REC_SIGNED_IN)->person, "EF");
    expect_ask(ASK_CLEAR); /* the same question to somebody else */
    assert_true(B.s.prompt.id > prompt);
    struct event badge = {.kind = EV_SIGN_IN, .person = {.code = "GH", .rights = RIGHT_TYPE}};
    bench_event(&badge);
    assert_string_equal(B.s.person.code, "GH");
    expect_ask(ASK_CLEAR);
    play_to_end();
}

static void test_sign_in_before_the_prompt(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    struct event badge = {.kind = EV_SIGN_IN, .person = {.code = "GH"}};
    bench_event(&badge);
    expect_ask(ASK_LOT);
    assert_string_equal(B.s.person.code, "GH");
}

static void test_signed_in_by_the_station(void **state)
{
    struct effects fx;
    const struct person who = {.code = "AB"};
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    assert_int_equal(bench_init(), FAIL_NONE);
    sequence_begin(&B.s, &who, B.now, &fx);
    expect_ask(ASK_LOT);
    sequence_begin(&B.s, NULL, B.now, &fx);
    expect_ask(ASK_PERSON);
}

/* The second look: a yes by whoever is there, or another person where the plant says so. */
static void test_second_person(void **state)
{
    (void)state;
    begin();
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    assert_false(B.s.prompt.other);
    yes();
    assert_string_equal(last_of(REC_WEIGHED)->second, "unnamed");

    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = B.setup.second_person = true;
    bench_begin();
    person("AB", 0);
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    assert_true(B.s.prompt.other);
    yes();
    expect_refused(REFUSED_PERSON);
    second("AB");
    expect_refused(REFUSED_PERSON);
    assert_int_equal(item_of(CHEESE)->status, ITEM_TARED);
    second("ABC");
    assert_string_equal(last_of(REC_WEIGHED)->second, "ABC");
    assert_string_equal(last_of(REC_WEIGHED)->person, "AB");
}

static void test_pause_and_go(void **state)
{
    (void)state;
    begin();
    play_until(CURE, ASK_FILL);
    answer(ANSWER_GO, "");
    expect_refused(REFUSED_WORD);
    answer(ANSWER_PAUSE, "telephone");
    assert_int_equal(B.s.state, BATCH_PAUSED);
    assert_string_equal(last_of(REC_STATE)->reason, "telephone");
    answer(ANSWER_PAUSE, "");
    expect_refused(REFUSED_WORD);
    fill_to(G(40));
    expect_ask(ASK_FILL); /* weights do nothing */
    done();
    expect_refused(REFUSED_PAUSED);
    typed(G(25));
    expect_refused(REFUSED_PAUSED);
    unplug(FINE);
    expect_notice(NOTICE_UNPLUGGED); /* but trouble is said */
    B.at[FINE].load += G(5);
    plug(FINE);
    pass(30);
    expect_ask(ASK_FILL);
    answer(ANSWER_GO, "");
    assert_int_equal(B.s.state, BATCH_RUNNING);
    pass(1);
    expect_ask(ASK_CLEAR); /* at another load than when it was lost */
    play_to_end();
}

static void test_pause_before_anything_was_accepted(void **state)
{
    (void)state;
    begin();
    answer(ANSWER_PAUSE, "");
    assert_int_equal(B.state, BATCH_PAUSED);
    lot("P1");
    expect_refused(REFUSED_PAUSED);
    answer(ANSWER_GO, "");
    assert_int_equal(B.state, BATCH_RUNNING);
    expect_ask(ASK_LOT);
    assert_int_equal(B.stored_count, 0);
    lot("P1");
    assert_int_equal(B.stored[0].kind, REC_STARTED);
    assert_int_equal(B.s.state, BATCH_RUNNING);
    play_to_end();
}

static void ends_early(enum answer_word word, enum batch_state end)
{
    begin();
    answer(word, "");
    expect_ended(end, 1);
    assert_int_equal(B.stored_count, 0); /* there never was a batch */
    struct event tick = {.kind = EV_TICK};
    bench_event(&tick);
    lot("P1");
    assert_int_equal(B.stored_count, 0);

    begin();
    play_until(SALT, ASK_FILL);
    answer(word, "power saw next door");
    expect_ended(end, 1);
    assert_int_equal(B.state, end);
    assert_string_equal(last_of(REC_STATE)->reason, "power saw next door");
    bench_restart(); /* nothing to resume */
    expect_ended(end, 1);

    begin();
    play_until(SALT, ASK_FILL);
    answer(ANSWER_PAUSE, "");
    answer(word, "");
    expect_ended(end, 1);
}

static void test_stop_and_abort(void **state)
{
    (void)state;
    ends_early(ANSWER_STOP, BATCH_STOPPED);
    ends_early(ANSWER_ABORT, BATCH_ABORTED);
}

static void test_complete_is_not_resumed(void **state)
{
    (void)state;
    begin();
    play_to_end();
    bench_restart();
    expect_ended(BATCH_COMPLETE, 0);
}

/* After a restart who is there and what stands on the platforms come first. */
static void test_go_does_not_skip_the_restart(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    answer(ANSWER_PAUSE, "");
    answer(ANSWER_GO, ""); /* a pause of this very run, before anybody signed in */
    expect_ask(ASK_PERSON);
    person("AB", 0);
    lot("P1");
    answer(ANSWER_PAUSE, "");
    bench_restart();
    answer(ANSWER_GO, "");
    expect_refused(REFUSED_WORD);
    person("AB", 0);
    answer(ANSWER_GO, "");
    expect_refused(REFUSED_WORD);
    expect_ask(ASK_RESUME);
    yes();
    expect_ask(ASK_CLEAR);
    assert_int_equal(B.s.phase, PHASE_PROVE);
    answer(ANSWER_PAUSE, "");
    pass(30);
    assert_int_equal(B.s.phase, PHASE_PROVE); /* not proved while paused */
    answer(ANSWER_GO, "");
    pass(30);
    expect_ask(ASK_CONTAINER);
    play_to_end();
}

/* Every record of a batch fails once: nothing moves, the question is asked again, and the batch is the same in the end. */
static void test_store_fails_at_each_record(void **state)
{
    static struct item whole[CAP_ITEMS];
    (void)state;
    begin();
    play_to_end();
    unsigned records = B.stored_count;
    memcpy(whole, B.items, sizeof whole);
    for (unsigned k = 1; k <= records; k++) {
        begin();
        B.fail_at = k;
        for (unsigned steps = 0; B.fail_at && steps < 500; steps++)
            (void)bench_try();
        assert_int_equal(B.fail_at, 0);
        assert_int_equal(B.stored_count, k - 1);
        expect_notice(NOTICE_STORE);
        assert_int_not_equal(B.s.prompt.ask, ASK_NOTHING);
        bench_twin_agrees();
        play_to_end();
        assert_int_equal(B.stored_count, records);
        assert_memory_equal(whole, B.items, sizeof whole);
    }
}

/* With the disk full nothing is ever accepted, whatever is tried. */
static void test_full_disk(void **state)
{
    (void)state;
    begin();
    B.fail_all = true;
    for (unsigned k = 0; k < 20; k++) {
        expect_ask(ASK_LOT);
        lot("P1");
        expect_notice(NOTICE_STORE);
    }
    assert_false(B.s.started);
    assert_int_equal(B.stored_count, 0);
    B.fail_all = false;
    lot("P1");
    pass(30);
    expect_ask(ASK_CONTAINER);
    B.fail_all = true;
    put(BENCH, G(850));
    unsigned said = B.notices[NOTICE_STORE];
    pass(100);
    assert_in_range(B.notices[NOTICE_STORE], said + 3, said + 6); /* every two seconds, not at every reading */
    expect_ask(ASK_CONTAINER);
    B.fail_all = false;
    pass(30);
    expect_ask(ASK_FILL);
}

/* The last record is one that nobody was asked for. */
static void test_the_end_can_not_be_stored(void **state)
{
    (void)state;
    begin();
    play_until(NO_INGREDIENT, ASK_CHECK);
    value(4000);
    expect_ask(ASK_ADD);
    B.fail_at = 2;
    yes();
    expect_notice(NOTICE_STORE);
    expect_ask(ASK_RESUME);
    assert_int_equal(B.s.prompt.what, WHAT_RETRY); /* nothing was interrupted */
    assert_int_equal(B.s.prompt.item, 0);
    B.fail_all = true;
    yes();
    expect_ask(ASK_RESUME);
    unsigned stored = B.stored_count;
    B.fail_all = false;
    answer(ANSWER_PAUSE, "");
    answer(ANSWER_GO, "");
    expect_ended(BATCH_COMPLETE, 0);
    assert_int_equal(B.stored_count, stored + 3);
}

static void test_declared_meat_can_not_be_stored(void **state)
{
    (void)state;
    bench_new(BASIS_DECLARED, KG(10));
    B.formula.ingredients[PORK].ask_lot = false;
    bench_begin();
    assert_int_equal(B.s.prompt.ingredient, BEEF); /* an answer opens the batch: pork follows it */
    B.fail_at = 3;
    lot("B1");
    expect_ask(ASK_RESUME);
    yes();
    assert_int_equal(item_of(PORK)->net, KG(7));
    assert_int_equal(B.s.prompt.what, WHAT_BASIS);
    play_to_end();
}

static void test_no_room(void **state)
{
    (void)state;
    begin();
    uint16_t needed = B.s.item_count;
    bench_new(BASIS_WEIGHED, 0);
    for (B.item_cap = 0; B.item_cap < needed; B.item_cap++)
        assert_int_equal(bench_init(), FAIL_FULL); /* before anything is asked */
    assert_int_equal(bench_init(), FAIL_NONE);
    bench_begin();
    play_until(PORK, ASK_MORE);
    yes();
    expect_refused(REFUSED_FULL);
    no();
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS)
        bench_help();
    no();
    expect_refused(REFUSED_FULL);
    play_until(CURE, ASK_FILL);
    fill_to(G(10));
    done();
    lot("C2");
    expect_refused(REFUSED_FULL);
    answer(ANSWER_DISCARD, "");
    expect_refused(REFUSED_FULL);
    fill_to(G(25)); /* what needs no room goes on */
    yes();
    play_until(NO_INGREDIENT, ASK_ADD);
    yes();
    spilt(item_of(SALT)->id); /* the tub: three at once */
    expect_refused(REFUSED_FULL);
    play_to_end();
}

static void test_setups_that_can_not_be(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.scale_count = 0;
    assert_int_equal(bench_init(), FAIL_RANGE);
    B.setup.scale_count = CAP_SCALES + 1;
    assert_int_equal(bench_init(), FAIL_RANGE);
    B.setup.scale_count = SCALES;
    B.formula.ingredients[CURE].weigh_order = 9;
    assert_int_equal(bench_init(), FAIL_SYNTAX);
    B.formula.ingredients[CURE].weigh_order = CURE;
    B.formula.ingredients[CURE].way = WAY_TUB;
    assert_int_equal(bench_init(), FAIL_SYNTAX); /* cure never goes into a common tub */
    bench_new(BASIS_DECLARED, 0);
    assert_int_equal(bench_init(), FAIL_RANGE);
    bench_new(BASIS_PLANNED, -KG(1));
    assert_int_equal(bench_init(), FAIL_RANGE);
    bench_new(BASIS_PLANNED, INT64_MAX);
    assert_int_equal(bench_init(), FAIL_RANGE); /* with all that comes to it no mass can hold it */
}

static void test_words_for_the_codes(void **state)
{
    (void)state;
    assert_string_equal(ask_text(ASK_CONTAINER), "container");
    assert_string_equal(ask_text(ASK_COUNT), "");
    assert_string_equal(answer_text(ANSWER_ABORT), "abort");
    assert_string_equal(answer_text(ANSWER_COUNT), "");
    assert_string_equal(answer_value_text(ANSWER_KEEP), "REASON");
    assert_string_equal(answer_value_text(ANSWER_COUNT), "");
    assert_string_equal(notice_text(NOTICE_BACK), "back");
    assert_string_equal(notice_text(NOTICE_COUNT), "");
    assert_string_equal(refusal_text(REFUSED_EARLY), "early");
    assert_string_equal(refusal_text(REFUSED_COUNT), "");
    assert_string_equal(confirm_what_text(WHAT_TUB), "tub");
    assert_string_equal(confirm_what_text((enum confirm_what)99), "");
    assert_string_equal(weigh_way_text(WAY_BAG), "bag");
    assert_string_equal(weigh_way_text((enum weigh_way)99), "");
    assert_string_equal(record_kind_text(REC_SIGNED_IN), "signed-in");
    assert_string_equal(record_kind_text(REC_COUNT), "");
    assert_string_equal(batch_state_text(BATCH_ABORTED), "aborted");
    assert_string_equal(batch_state_text((enum batch_state)99), "");
    assert_string_equal(verdict_text(VERDICT_UNDER), "under");
    assert_string_equal(verdict_text((enum verdict)99), "");
    assert_string_equal(manner_text(MANNER_LABEL), "label");
    assert_string_equal(manner_text((enum manner)99), "");
}

static void test_long_codes_and_reasons(void **state)
{
    char text[CAP_REASON];
    (void)state;
    begin();
    memset(text, 'L', sizeof text);
    text[CAP_LOT] = '\0';
    lot(text); /* one too many: cut short it would be another lot's */
    expect_refused(REFUSED_VALUE);
    text[CAP_LOT - 1] = '\0';
    lot(text);
    assert_string_equal(item_of(PORK)->lot, text);
    memset(text, 'r', sizeof text);
    text[CAP_REASON - 1] = '\0';
    answer(ANSWER_STOP, text);
    assert_string_equal(last_of(REC_STATE)->reason, text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_nothing_but_the_store_is_heard_while_storing),
        cmocka_unit_test(test_people),
        cmocka_unit_test(test_sign_in_before_the_prompt),
        cmocka_unit_test(test_signed_in_by_the_station),
        cmocka_unit_test(test_second_person),
        cmocka_unit_test(test_pause_and_go),
        cmocka_unit_test(test_pause_before_anything_was_accepted),
        cmocka_unit_test(test_stop_and_abort),
        cmocka_unit_test(test_complete_is_not_resumed),
        cmocka_unit_test(test_go_does_not_skip_the_restart),
        cmocka_unit_test(test_store_fails_at_each_record),
        cmocka_unit_test(test_full_disk),
        cmocka_unit_test(test_the_end_can_not_be_stored),
        cmocka_unit_test(test_declared_meat_can_not_be_stored),
        cmocka_unit_test(test_no_room),
        cmocka_unit_test(test_setups_that_can_not_be),
        cmocka_unit_test(test_words_for_the_codes),
        cmocka_unit_test(test_long_codes_and_reasons),
    };
    return cmocka_run_group_tests_name("sequence_words", tests, NULL, NULL);
}
