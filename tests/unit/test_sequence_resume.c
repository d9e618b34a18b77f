/* A restart after every single record of a batch in which much goes wrong: the same step of the same batch, asked only what
 * was not yet accepted, and in the end the same batch to the last bit. */
#include "tests/unit/seq_bench.h"

#include <string.h>

static struct record script[STORED_MAX];
static uint16_t current_after[STORED_MAX];
static struct item result[CAP_ITEMS];
static uint16_t result_order[CAP_ITEMS];
static unsigned records;
static uint16_t items;

static const struct item *current(void)
{
    return sequence_item(&B.s, B.s.current);
}

static bool first_of(uint8_t ingredient, enum ask ask)
{
    const struct item *it = current();
    return it && it->ingredient == ingredient && it->parent == 0 && B.s.prompt.ask == ask;
}

/* The misses depend on nothing but the batch's own state, so that they happen again, or no more, after a restart. */
static bool miss(void)
{
    const struct item *it = current();
    if (B.s.prompt.ask == ASK_CONTAINER && B.s.prompt.back) {
        fill_to(0); /* emptied meanwhile, and put back */
    } else if (first_of(PORK, ASK_MORE) && item_of(PORK) == it) {
        yes(); /* a second lug */
    } else if (first_of(BEEF, ASK_FILL)) {
        unplug(BENCH);
        typed(KG(3));
        yes();
        plug(BENCH);
        pass(30);
    } else if (first_of(SALT, ASK_FILL)) {
        fill_to(G(100));
        done();
        lot("S2");
    } else if (first_of(SEASONING, ASK_FILL)) {
        fill_to(G(250));
        done();
        lot("B2");
    } else if (first_of(CHEESE, ASK_FILL)) {
        fill_to(G(1200));
        answer(ANSWER_DISCARD, "a piece of rind");
    } else if (B.s.prompt.ask == ASK_ADD && it->step == ADD_SPICE && item_of(CURE)->parent == 0) {
        spilt(item_of(CURE)->id);
    } else if (B.s.prompt.ask == ASK_CHECK && it->verdict == VERDICT_IN) {
        value(13000);
    } else if (B.s.prompt.what == WHAT_BASIS && item_of(BEEF)->parent == 0) {
        no(); /* one more lug */
    } else {
        return false;
    }
    return true;
}

static void setup(void)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    B.lug[PORK] = G(3500);
    B.lug[BEEF] = KG(1);
}

static void sign_in(void)
{
    if (B.s.prompt.ask == ASK_PERSON)
        person("AB", RIGHTS_ALL);
}

static void finish(void)
{
    for (unsigned k = 0; B.s.phase != PHASE_ENDED; k++) {
        assert_true(k < 1000);
        sign_in();
        if (!miss())
            (void)bench_help();
    }
    expect_ended(BATCH_COMPLETE, 0);
}

static void test_uninterrupted(void **state)
{
    (void)state;
    setup();
    bench_begin();
    finish();
    records = B.stored_count;
    items = B.s.item_count;
    memcpy(script, B.stored, sizeof script);
    memcpy(current_after, B.current_after, sizeof current_after);
    memcpy(result, B.items, sizeof result);
    memcpy(result_order, B.order, sizeof result_order);
    assert_true(records > 55);
    for (unsigned kind = 0; kind < REC_STATE; kind++)
        if (kind != REC_SIGNED_IN)
            assert_true(count_of((enum record_kind)kind, 0) > 0);
}

static void same_result(void)
{
    assert_int_equal(B.s.item_count, items);
    assert_memory_equal(result, B.items, items * sizeof *result);
    assert_memory_equal(result_order, B.order, items * sizeof *result_order);
}

/* Nothing is accepted twice. (A check's value may be.) */
static void nothing_doubled(void)
{
    for (unsigned k = 0; k < B.stored_count; k++) {
        const struct record *r = &B.stored[k];
        if (r->kind == REC_STATE || r->kind == REC_CHECKED || r->kind == REC_SIGNED_IN)
            continue;
        unsigned times = 0;
        for (unsigned m = 0; m < B.stored_count; m++)
            times += B.stored[m].kind == r->kind && B.stored[m].item == r->item && B.stored[m].next == r->next;
        if (times != 1)
            fail_msg("%s of item %u is there %u times", record_kind_text((enum record_kind)r->kind), r->item, times);
    }
}

/* What was accepted, unless it was lifted off; else anybody's guess. */
static mass_pg left_standing(uint8_t scale, mass_pg guess)
{
    const struct item *held = sequence_item(&B.twin, B.twin.scales[scale].holds);
    return held && held->status == ITEM_WEIGHED ? held->gross : guess;
}

/* The first n records are on disk. */
static void restart_after(unsigned n)
{
    setup();
    assert_int_equal(bench_init(), FAIL_NONE);
    memcpy(B.stored, script, n * sizeof *script);
    B.stored_count = n;
    for (unsigned k = 0; k < n; k++)
        assert_int_equal(sequence_apply(&B.twin, &B.stored[k]), FAIL_NONE);
    B.at[BENCH].load = left_standing(BENCH, KG(3));
    B.at[FINE].load = left_standing(FINE, G(100));
    bench_restart();
    expect_ask(ASK_PERSON);
    person("AB", RIGHTS_ALL);
}

/* As protocol.md has it: resume, clear for each scale, then the interrupted item from its first unjournalled step. */
static void resume_after(unsigned n)
{
    expect_ask(ASK_RESUME);
    assert_int_equal(B.s.current, 0);
    yes();
    for (uint8_t k = 0; k < SCALES; k++) {
        expect_ask(ASK_CLEAR);
        assert_int_equal(B.s.prompt.scale, k);
        pass(30);
        expect_ask(ASK_CLEAR); /* not before it is empty */
        lift(k);
    }
    if (B.s.current != current_after[n - 1]) {
        bench_show();
        fail_msg("after %u records item %u, not %u", n, B.s.current, current_after[n - 1]);
    }
    const struct item *it = current();
    if (it && it->status == ITEM_TARED && B.s.prompt.ask != ASK_LOT) {
        expect_ask(ASK_CONTAINER);
        assert_true(B.s.prompt.back);
    }
}

static void test_restart_after_every_record(void **state)
{
    (void)state;
    for (unsigned n = 1; n < records; n++) {
        restart_after(n);
        resume_after(n);
        finish();
        same_result();
        nothing_doubled();
        bench_twin_agrees();
    }
}

/* Killed again while the platforms are being proved, and once more at the very next record. */
static void test_restart_within_a_restart(void **state)
{
    (void)state;
    for (unsigned n = 1; n < records; n++) {
        restart_after(n);
        yes();
        lift(BENCH);
        bench_restart();
        sign_in();
        yes();
        unsigned stored = B.stored_count;
        while (B.stored_count == stored && B.s.phase != PHASE_ENDED)
            if (!miss())
                (void)bench_help();
        if (B.s.phase == PHASE_ENDED)
            continue;
        bench_restart();
        sign_in();
        finish();
        same_result();
        nothing_doubled();
    }
}

/* A record that was proposed but never reached the disk is asked for again. */
static void test_killed_before_the_commit(void **state)
{
    (void)state;
    for (unsigned n = 1; n < records; n++) {
        restart_after(n);
        yes();
        B.keeps_waiting = true;
        for (unsigned k = 0; !B.s.storing && k < 200; k++)
            if (!miss())
                (void)bench_try();
        assert_true(B.s.storing);
        B.keeps_waiting = false;
        bench_restart();
        sign_in();
        finish();
        same_result();
        nothing_doubled();
    }
}

/* Two lugs are ready, and somebody has signed in. */
static void signed_in(void)
{
    setup();
    B.lug[PORK] = KG(7);
    B.lug[BEEF] = KG(3);
    bench_begin();
    sign_in();
}

static void test_paused_batch_is_resumed(void **state)
{
    (void)state;
    signed_in();
    play_until(CURE, ASK_FILL);
    answer(ANSWER_PAUSE, "end of the shift");
    bench_restart();
    expect_ask(ASK_PERSON);
    person("CD", 0);
    expect_ask(ASK_RESUME);
    typed(G(25));
    expect_refused(REFUSED_WORD);
    yes();
    assert_int_equal(B.s.state, BATCH_RUNNING);
    play_until(CURE, ASK_CONTAINER);
    assert_true(B.s.prompt.back);
    /* what was in the cup counts: it is weighed against its journalled tare */
    put(FINE, item_of(CURE)->tare + G(20));
    expect_ask(ASK_FILL);
    put(FINE, item_of(CURE)->tare + G(25));
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, G(25));
    assert_string_equal(last_of(REC_WEIGHED)->person, "CD");
}

/* The cup was accepted and still stood there when the power went: its lifting off is the proof of the platform. */
static void test_accepted_cup_is_staged_by_the_proof(void **state)
{
    (void)state;
    signed_in();
    play_until(CURE, ASK_CONFIRM);
    yes();
    assert_int_equal(item_of(CURE)->status, ITEM_WEIGHED);
    bench_restart();
    sign_in();
    yes();
    lift(BENCH);
    lift(FINE);
    assert_int_equal(item_of(CURE)->status, ITEM_STAGED);
    expect_ask(ASK_LOT);
    assert_int_equal(B.s.prompt.ingredient, SEASONING);
}

/* The accepted cup still stands there, but with so much more (or less) in it than when the power went. */
static uint16_t cure_changed_meanwhile(mass_pg more)
{
    signed_in();
    play_until(CURE, ASK_CONFIRM);
    yes();
    B.at[FINE].load += more;
    bench_restart();
    sign_in();
    settle();
    yes();
    expect_ask(ASK_CLEAR);
    lift(BENCH);
    return item_of(CURE)->id;
}

static void test_cup_changed_while_the_station_was_down(void **state)
{
    (void)state;
    uint16_t cure = cure_changed_meanwhile(-G(3));
    expect_notice(NOTICE_CHANGED);
    assert_int_equal(B.notice_mass, -G(3));
    lift(FINE);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
    assert_int_equal(B.s.prompt.item, cure);
    assert_int_equal(B.s.prompt.answers, TAKES(DISCARD));
    answer(ANSWER_DISCARD, "somebody took some out");
    lift(BENCH);
    lift(FINE);
    play_until(CURE, ASK_FILL);
    assert_int_equal(item_of(CURE)->parent, cure);
    assert_false(B.s.back);
    play_to_end();
}

static void test_changed_meanwhile_within_its_band(void **state)
{
    (void)state;
    uint16_t cure = cure_changed_meanwhile(-MG(100));
    lift(FINE);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
    yes();
    assert_true(last_of(REC_STAGED)->asked);
    assert_int_equal(last_of(REC_STAGED)->item, cure);
    assert_true(B.s.proved);
    play_to_end();
}

static void test_same_cup_after_a_restart_is_not_asked_about(void **state)
{
    (void)state;
    (void)cure_changed_meanwhile(MG(20)); /* drift */
    lift(FINE);
    expect_quiet(NOTICE_CHANGED);
    assert_false(last_of(REC_STAGED)->asked);
    assert_true(B.s.proved);
}

/* On the first platform that is proved: the others are proved all the same, and what was part-filled on one comes back. */
static void test_changed_on_the_first_of_two_platforms(void **state)
{
    (void)state;
    for (int thrown = 0; thrown < 2; thrown++) {
        signed_in();
        play_until(BEEF, ASK_CONFIRM);
        yes();
        B.at[BENCH].load += G(100);
        bench_restart();
        sign_in();
        settle();
        yes();
        put(FINE, G(50)); /* not cleared yet */
        lift(BENCH);
        assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
        if (thrown)
            answer(ANSWER_DISCARD, "");
        else
            yes();
        settle();
        expect_ask(ASK_CLEAR);
        assert_int_equal(B.s.prompt.scale, FINE);
        assert_false(B.s.proved);
        lift(FINE);
        assert_true(B.s.proved);
        play_to_end();
    }
}

/* The tub is put back to be compared: a restart doesn't spare it. */
static void test_tub_check_after_a_restart(void **state)
{
    (void)state;
    signed_in();
    play_until(SALT, ASK_FILL);
    fill_to(item_of(SALT)->target);
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
    mass_pg tub = B.at[BENCH].load;
    bench_restart();
    sign_in();
    yes();
    lift(BENCH);
    lift(FINE);
    assert_int_equal(B.s.prompt.what, WHAT_TUB);
    yes();
    expect_refused(REFUSED_TUB);
    put(BENCH, tub - G(50));
    yes();
    expect_refused(REFUSED_TUB);
    put(BENCH, tub);
    yes();
    assert_int_equal(last_of(REC_TUB)->gross, tub);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_uninterrupted),
        cmocka_unit_test(test_restart_after_every_record),
        cmocka_unit_test(test_restart_within_a_restart),
        cmocka_unit_test(test_killed_before_the_commit),
        cmocka_unit_test(test_paused_batch_is_resumed),
        cmocka_unit_test(test_accepted_cup_is_staged_by_the_proof),
        cmocka_unit_test(test_cup_changed_while_the_station_was_down),
        cmocka_unit_test(test_changed_meanwhile_within_its_band),
        cmocka_unit_test(test_same_cup_after_a_restart_is_not_asked_about),
        cmocka_unit_test(test_changed_on_the_first_of_two_platforms),
        cmocka_unit_test(test_tub_check_after_a_restart),
    };
    return cmocka_run_group_tests_name("sequence_resume", tests, NULL, NULL);
}
