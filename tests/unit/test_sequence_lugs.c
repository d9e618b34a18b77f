/* Lugs of meat that were wrong: found before the basis is confirmed, thrown out of the reckoning, weighed again. */
#include "tests/unit/seq_bench.h"

static void begin(enum meat_basis basis, mass_pg mass)
{
    bench_new(basis, mass);
    B.setup.people = true;
    bench_begin();
    person("AB", RIGHTS_ALL);
}

/* One zero too many, seen as soon as it stands there. */
static void test_mistyped_lug(void **state)
{
    (void)state;
    begin(BASIS_WEIGHED, 0);
    play_until(PORK, ASK_FILL);
    unplug(BENCH);
    typed(KG(12));
    yes();
    expect_ask(ASK_MORE);
    uint16_t wrong = item_of(PORK)->id;
    assert_true(B.s.prompt.answers & TAKES(DISCARD));
    answer(ANSWER_DISCARD, "");
    const struct record *r = last_of(REC_DISCARDED);
    assert_int_equal(r->item, wrong);
    assert_int_equal(r->net, KG(12)); /* as it was typed: both entries stay */
    assert_int_equal(item_of(PORK)->id, r->next);
    assert_int_equal(item_of(PORK)->parent, wrong);
    expect_ask(ASK_LOT);
    lot("P1");
    typed(G(1200));
    yes();
    expect_ask(ASK_MORE);
    no();
    plug(BENCH);
    play_until(NO_INGREDIENT, ASK_CONFIRM);
    while (B.s.prompt.what != WHAT_BASIS) {
        (void)bench_help();
        play_until(NO_INGREDIENT, ASK_CONFIRM);
    }
    assert_int_equal(B.s.prompt.basis, G(1200) + item_of(BEEF)->net);
    play_to_end();
}

static void to_basis(void)
{
    while (B.s.prompt.what != WHAT_BASIS)
        assert_true(bench_help());
}

/* Found when all is asked about: any lug, told by its number, and nothing else. */
static void test_wrong_lug_at_the_basis(void **state)
{
    (void)state;
    begin(BASIS_WEIGHED, 0);
    play_until(PORK, ASK_MORE);
    uint16_t first = item_of(PORK)->id;
    yes();
    play_until(PORK, ASK_FILL);
    fill_to(KG(5));
    yes();
    uint16_t second = item_of(PORK)->id;
    to_basis();
    mass_pg before = B.s.prompt.basis;
    uint16_t none[] = {0, B.s.current, item_of(CURE)->id, 99};
    for (unsigned k = 0; k < sizeof none / sizeof *none; k++) {
        spilt(none[k]);
        expect_refused(REFUSED_VALUE);
    }
    spilt(first);
    assert_int_equal(last_of(REC_DISCARDED)->item, first);
    assert_int_equal(B.s.current, last_of(REC_DISCARDED)->next);
    play_until(PORK, ASK_FILL);
    fill_to(KG(6));
    yes();
    expect_ask(ASK_MORE);
    no();
    to_basis();
    assert_int_equal(B.s.prompt.basis, before - KG(7) + KG(6));
    spilt(first); /* once is enough */
    expect_refused(REFUSED_VALUE);
    assert_int_equal(sequence_item(&B.s, second)->status, ITEM_STAGED);
    play_to_end();
}

/* Not after it: everything else is worked out from it. */
static void test_not_after_the_basis(void **state)
{
    (void)state;
    begin(BASIS_WEIGHED, 0);
    to_basis();
    yes();
    play_until(NO_INGREDIENT, ASK_ADD);
    spilt(item_of(PORK)->id);
    expect_refused(REFUSED_VALUE);
}

/* Declared meat has no lugs. */
static void test_declared(void **state)
{
    (void)state;
    begin(BASIS_DECLARED, KG(10));
    to_basis();
    assert_int_equal(B.s.prompt.answers, TAKES(YES));
}

/* What takes the place of a lug is wanted as it was, less what was accepted after it. */
static void test_planned(void **state)
{
    (void)state;
    begin(BASIS_PLANNED, KG(10)); /* 7 kg of pork */
    play_until(PORK, ASK_FILL);
    fill_to(KG(2));
    done();
    yes();
    uint16_t first = item_of(PORK)->id;
    expect_ask(ASK_MORE);
    yes();
    play_until(PORK, ASK_FILL);
    assert_int_equal(item_of(PORK)->target, KG(5));
    fill_to(KG(5));
    yes();
    uint16_t second = item_of(PORK)->id;
    no();
    to_basis();
    spilt(first);
    const struct item *again = sequence_item(&B.s, B.s.current);
    assert_int_equal(again->parent, first);
    assert_true(again->has_band);
    assert_int_equal(again->target, KG(2));
    play_until(PORK, ASK_FILL);
    fill_to(KG(3)); /* more than is left of the plan */
    expect_ask(ASK_OVER);
    fill_to(KG(2));
    yes();
    no();
    to_basis();
    spilt(second);
    assert_int_equal(sequence_item(&B.s, B.s.current)->target, KG(5));
    play_to_end();
}

/* A lug of two lots goes as a whole. */
static void test_lug_of_two_lots(void **state)
{
    (void)state;
    begin(BASIS_PLANNED, KG(10));
    play_until(PORK, ASK_FILL);
    uint16_t first = item_of(PORK)->id;
    fill_to(G(50));
    done();
    lot("P2");
    fill_to(G(6950));
    yes();
    expect_ask(ASK_MORE);
    answer(ANSWER_DISCARD, "");
    assert_int_equal(sequence_item(&B.s, first)->status, ITEM_DISCARDED);
    assert_int_equal(sequence_item(&B.s, B.s.current)->target, KG(7));
    play_to_end();
}

/* The sum of all meat is one mass: what can't be added is not left out of it, it is not taken. */
static void test_more_than_can_be_added(void **state)
{
    (void)state;
    begin(BASIS_WEIGHED, 0);
    B.scales[BENCH].capacity = KG(6000);
    play_until(PORK, ASK_FILL);
    fill_to(KG(5000));
    yes();
    expect_ask(ASK_MORE);
    yes();
    play_until(PORK, ASK_FILL);
    fill_to(KG(4500));
    yes();
    expect_refused(REFUSED_FULL);
    assert_int_equal(count_of(REC_WEIGHED, 0), 1);
    fill_to(KG(3000));
    yes();
    assert_int_equal(count_of(REC_WEIGHED, 0), 2);
}

/* The meat alone can be reckoned with, the batch that it makes can't. */
static void test_more_than_can_be_scaled(void **state)
{
    (void)state;
    begin(BASIS_WEIGHED, 0);
    B.scales[BENCH].capacity = KG(9000);
    B.lug[BEEF] = KG(1);
    play_until(PORK, ASK_FILL);
    fill_to(KG(8900));
    yes();
    to_basis();
    yes();
    expect_refused(REFUSED_FULL);
    expect_quiet(NOTICE_UNFIT);
    assert_int_equal(count_of(REC_BASIS, 0), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mistyped_lug),
        cmocka_unit_test(test_wrong_lug_at_the_basis),
        cmocka_unit_test(test_not_after_the_basis),
        cmocka_unit_test(test_declared),
        cmocka_unit_test(test_planned),
        cmocka_unit_test(test_lug_of_two_lots),
        cmocka_unit_test(test_more_than_can_be_added),
        cmocka_unit_test(test_more_than_can_be_scaled),
    };
    return cmocka_run_group_tests_name("sequence_lugs", tests, NULL, NULL);
}
