/* A weight that moves a little after its prompt has opened: what is judged is the weight at the answer. */
#include "tests/unit/seq_bench.h"

/* One division within the band's edge when the first person said yes, one outside it when the second does. */
static void test_out_of_band_at_the_second_yes(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = B.setup.second_person = true;
    bench_begin();
    person("AB", RIGHTS_ALL);
    play_until(CHEESE, ASK_FILL);
    mass_pg high = B.s.prompt.high;
    fill_to(high);
    expect_ask(ASK_CONFIRM);
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_SECOND);
    fill_to(high + G(5));
    second("CD");
    assert_int_equal(count_of(REC_WEIGHED, item_of(CHEESE)->id), 0);
    expect_ask(ASK_OVER);
    fill_to(high);
    expect_ask(ASK_CONFIRM);
    yes();
    second("CD");
    assert_int_equal(last_of(REC_WEIGHED)->net, high);
}

/* Exactly on the limit when "over" opened, one division above it when it is to be kept. */
static void test_above_the_limit_at_the_keep(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.who.rights = RIGHTS_ALL;
    B.formula.ingredients[CURE].share = (struct share){1, 500};
    bench_begin();
    play_until(CURE, ASK_FILL);
    fill_to(G(25));
    expect_ask(ASK_OVER);
    assert_int_equal(B.s.prompt.answers & TAKES(KEEP), TAKES(KEEP));
    fill_to(MG(25010));
    expect_ask(ASK_OVER);
    keep("measured twice");
    expect_refused(REFUSED_LIMIT);
    assert_int_equal(count_of(REC_WEIGHED, item_of(CURE)->id), 0);
    fill_to(G(25));
    keep("measured twice");
    assert_int_equal(last_of(REC_WEIGHED)->net, G(25));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_out_of_band_at_the_second_yes),
        cmocka_unit_test(test_above_the_limit_at_the_keep),
    };
    return cmocka_run_group_tests_name("sequence_drift", tests, NULL, NULL);
}
