/* core/agree.c: two lines that agree, and nothing less. */
#include "tests/unit/core_test.h"

#include "core/agree.h"

#define G PG_PER_G
#define S UINT64_C(1000000)

static struct agree a;
static struct reading newest;

static int set_up(void **state)
{
    (void)state;
    a = (struct agree){0};
    newest = (struct reading){0};
    return 0;
}

static enum settle_state judge(uint64_t now)
{
    mass_pg mass = -1;
    enum settle_state state = agree_judge(&a, &newest, now, &mass);
    assert_int_equal(mass, state == SETTLE_SETTLED ? newest.mass : -1);
    return state;
}

static enum settle_state line(uint64_t at, mass_pg mass, enum reading_state state)
{
    newest = (struct reading){.mass = mass, .at = at, .since = at - S / 10, .state = (uint8_t)state};
    agree_feed(&a, G, &newest);
    return judge(at);
}

static void test_two_agree(void **state)
{
    (void)state;
    assert_int_equal(judge(10 * S), SETTLE_SILENT);
    assert_int_equal(line(10 * S, 500 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(12 * S, 500 * G, READING_STABLE), SETTLE_SETTLED);
    assert_int_equal(line(14 * S, 500 * G, READING_UNKNOWN), SETTLE_SETTLED);
}

static void test_two_that_differ(void **state)
{
    (void)state;
    line(10 * S, 500 * G, READING_STABLE);
    assert_int_equal(line(12 * S, 501 * G, READING_STABLE), SETTLE_MOVING); /* by a division: perhaps a damaged digit */
    assert_int_equal(line(14 * S, 500 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(16 * S, 500 * G, READING_STABLE), SETTLE_SETTLED);
    assert_int_equal(line(18 * S, 400 * G, READING_STABLE), SETTLE_MOVING);
}

/* A chain of lines, each near the one before, wanders away from the first. */
static void test_a_chain_does_not_wander(void **state)
{
    (void)state;
    line(10 * S, 500 * G, READING_STABLE);
    assert_int_equal(line(12 * S, 501 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(14 * S, 502 * G, READING_STABLE), SETTLE_MOVING);
}

static void test_apart_and_within(void **state)
{
    (void)state;
    line(10 * S, 500 * G, READING_STABLE);
    assert_int_equal(line(10 * S + AGREE_APART_US - 1, 500 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(10 * S + AGREE_APART_US, 500 * G, READING_STABLE), SETTLE_SETTLED);
    set_up(NULL);
    line(10 * S, 500 * G, READING_STABLE);
    assert_int_equal(line(10 * S + AGREE_WITHIN_US + 1, 500 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(12 * S + AGREE_WITHIN_US, 500 * G, READING_STABLE), SETTLE_SETTLED);
}

static void test_fresh(void **state)
{
    (void)state;
    line(10 * S, 500 * G, READING_STABLE);
    line(12 * S, 500 * G, READING_STABLE);
    assert_int_equal(judge(12 * S + AGREE_FRESH_US), SETTLE_SETTLED);
    assert_true(agree_next(&a, &newest, 12 * S) == 12 * S + AGREE_FRESH_US + 1);
    assert_int_equal(judge(12 * S + AGREE_FRESH_US + 1), SETTLE_MOVING);
    assert_int_equal(agree_next(&a, &newest, 12 * S + AGREE_FRESH_US + 1), 0);
    assert_int_equal(judge(11 * S), SETTLE_MOVING);   /* a clock that was set back */
    assert_int_equal(judge(3600 * S), SETTLE_MOVING); /* never silent */
}

static void test_moving_or_no_weight_breaks_it(void **state)
{
    static const enum reading_state breaks[] = {READING_MOVING, READING_OVER, READING_UNDER, READING_FAULT,
                                                READING_UNIT};
    (void)state;
    for (unsigned k = 0; k < 5; k++) {
        set_up(NULL);
        line(10 * S, 500 * G, READING_STABLE);
        line(11 * S, 500 * G, READING_STABLE);
        assert_int_equal(line(12 * S, 500 * G, breaks[k]),
                         breaks[k] == READING_MOVING ? SETTLE_MOVING : SETTLE_NOWEIGHT);
        assert_int_equal(line(13 * S, 500 * G, READING_STABLE), SETTLE_MOVING);
        assert_int_equal(line(14 * S, 500 * G, READING_STABLE), SETTLE_SETTLED);
    }
}

static void test_out_of_order_and_limits(void **state)
{
    (void)state;
    line(10 * S, 500 * G, READING_STABLE);
    assert_int_equal(line(9 * S, 500 * G, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(line(10 * S, 500 * G, READING_STABLE), SETTLE_SETTLED);
    line(11 * S, INT64_MIN, READING_STABLE);
    assert_int_equal(line(12 * S, INT64_MAX, READING_STABLE), SETTLE_MOVING);
    struct reading r = {.mass = G, .at = 20 * S};
    agree_feed(&a, 0, &r); /* a division of nothing */
    assert_int_equal(a.first_at, 0);
}

static void test_which_profiles(void **state)
{
    (void)state;
    for (uint8_t k = SENDS_CONTINUOUS; k <= SENDS_KEY; k++) {
        struct profile p = {.sends = k};
        assert_int_equal(agree_counts(&p), k == SENDS_SETTLED || k == SENDS_KEY);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_two_agree, set_up),
        cmocka_unit_test_setup(test_two_that_differ, set_up),
        cmocka_unit_test_setup(test_a_chain_does_not_wander, set_up),
        cmocka_unit_test_setup(test_apart_and_within, set_up),
        cmocka_unit_test_setup(test_fresh, set_up),
        cmocka_unit_test_setup(test_moving_or_no_weight_breaks_it, set_up),
        cmocka_unit_test_setup(test_out_of_order_and_limits, set_up),
        cmocka_unit_test(test_which_profiles),
    };
    return cmocka_run_group_tests_name("agree", tests, NULL, NULL);
}
