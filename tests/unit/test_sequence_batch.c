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
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weighed),
    };
    return cmocka_run_group_tests_name("sequence_batch", tests, NULL, NULL);
}
