/* core/muldiv.c against GMP, and at the ends of its range. */
#include "core_test.h"

#include <gmp.h>

#include "core/muldiv.h"

#define UNTOUCHED INT64_C(-77)

/* GMP's answer; false if it does not fit. */
static bool expected(int64_t a, uint64_t num, uint64_t den, enum rounding how, int64_t *out)
{
    mpz_t p, q, r, twice;
    bool fits;

    mpz_inits(p, q, r, twice, NULL);
    mpz_set_si(p, a);
    mpz_mul_ui(p, p, num);
    mpz_fdiv_qr_ui(q, r, p, den);
    mpz_mul_ui(twice, r, 2);
    if (how == ROUND_UP && mpz_sgn(r) > 0)
        mpz_add_ui(q, q, 1);
    if (how == ROUND_HALF_EVEN && (mpz_cmp_ui(twice, den) > 0 || (mpz_cmp_ui(twice, den) == 0 && mpz_odd_p(q))))
        mpz_add_ui(q, q, 1);
    fits = mpz_fits_slong_p(q);
    if (fits)
        *out = mpz_get_si(q);
    mpz_clears(p, q, r, twice, NULL);
    return fits;
}

static void check(int64_t a, uint64_t num, uint64_t den)
{
    for (enum rounding how = ROUND_HALF_EVEN; how <= ROUND_UP; how++) {
        int64_t want = UNTOUCHED, got = UNTOUCHED;
        enum fail fail = muldiv(a, num, den, how, &got);

        if (fail != (expected(a, num, den, how, &want) ? FAIL_NONE : FAIL_RANGE) || got != want)
            fail_msg("%" PRId64 " * %" PRIu64 " / %" PRIu64 " rounding %d: %" PRId64 " (%d), not %" PRId64, a, num, den,
                     how, got, fail, want);
    }
}

static void agrees_with_gmp(void **state)
{
    uint64_t seed = 20240229;

    (void)state;
    for (int i = 0; i < 60000; i++)
        check(chance_signed(&seed), chance_bits(&seed, 63), 1 + chance_bits(&seed, 62));
    for (int i = 0; i < 60000; i++) { /* quotients that fit, and many ties */
        uint64_t den = 1 + chance_bits(&seed, 62);

        check(chance_signed(&seed), chance_below(&seed, den + 1), den);
        check(chance_signed(&seed) % 1000, chance_below(&seed, 20), 1 + chance_below(&seed, 20));
    }
}

static void agrees_at_the_ends(void **state)
{
    static const int64_t a[] = {INT64_MIN, INT64_MIN + 1, -3, -1, 0, 1, 3, INT64_MAX - 1, INT64_MAX};
    static const uint64_t b[] = {0, 1, 2, 3, UINT32_MAX, UINT64_C(1) << 32, INT64_MAX - 1, INT64_MAX};

    (void)state;
    for (size_t i = 0; i < sizeof a / sizeof *a; i++)
        for (size_t j = 0; j < sizeof b / sizeof *b; j++)
            for (size_t k = 1; k < sizeof b / sizeof *b; k++)
                check(a[i], b[j], b[k]);
}

static void ties_go_to_the_even(void **state)
{
    static const int64_t halves[][2] = {{1, 0}, {3, 2}, {5, 2}, {7, 4}, {-1, 0}, {-3, -2}, {-5, -2}, {-7, -4}};
    int64_t got;

    (void)state;
    for (size_t i = 0; i < sizeof halves / sizeof *halves; i++) {
        assert_int_equal(muldiv(halves[i][0], 1, 2, ROUND_HALF_EVEN, &got), FAIL_NONE);
        assert_int_equal(got, halves[i][1]);
    }
    assert_int_equal(muldiv(-1, 1, 2, ROUND_DOWN, &got), FAIL_NONE);
    assert_int_equal(got, -1);
    assert_int_equal(muldiv(-1, 1, 2, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, 0);
}

static void refusals_leave_out_alone(void **state)
{
    int64_t got = UNTOUCHED;

    (void)state;
    assert_int_equal(muldiv(1, 1, 0, ROUND_DOWN, &got), FAIL_ZERO);
    assert_int_equal(muldiv(1, UINT64_C(1) << 63, 0, ROUND_DOWN, &got), FAIL_ZERO);
    assert_int_equal(muldiv(0, UINT64_C(1) << 63, 1, ROUND_DOWN, &got), FAIL_RANGE);
    assert_int_equal(muldiv(0, 1, UINT64_C(1) << 63, ROUND_DOWN, &got), FAIL_RANGE);
    assert_int_equal(muldiv(INT64_MIN, 2, 1, ROUND_DOWN, &got), FAIL_RANGE);
    /* only the rounding leaves the range: (2^63 - 1) * (2^62 + 1) / 2^62 lies between 2^63 and 2^63 + 1 ... */
    assert_int_equal(muldiv(INT64_MAX, (UINT64_C(1) << 62) + 1, UINT64_C(1) << 62, ROUND_DOWN, &got), FAIL_RANGE);
    /* ... and (2^63 - 2) * (2^62 + 1) / 2^62 between 2^63 - 1 and 2^63 */
    assert_int_equal(muldiv(INT64_MAX - 1, (UINT64_C(1) << 62) + 1, UINT64_C(1) << 62, ROUND_UP, &got), FAIL_RANGE);
    assert_int_equal(got, UNTOUCHED);
    assert_int_equal(muldiv(INT64_MAX - 1, (UINT64_C(1) << 62) + 1, UINT64_C(1) << 62, ROUND_DOWN, &got), FAIL_NONE);
    assert_int_equal(got, INT64_MAX);
}

static void sums_do_not_wrap(void **state)
{
    static const int64_t v[] = {INT64_MIN, INT64_MIN + 1, -1, 0, 1, INT64_MAX - 1, INT64_MAX};
    uint64_t seed = 7;

    (void)state;
    for (int i = 0; i < 20000; i++) {
        int64_t a = i < 49 ? v[i / 7] : chance_signed(&seed), b = i < 49 ? v[i % 7] : chance_signed(&seed);
        int64_t got = UNTOUCHED, want = UNTOUCHED;
        bool wraps = __builtin_add_overflow(a, b, &want);

        assert_int_equal(add64(a, b, &got), wraps ? FAIL_RANGE : FAIL_NONE);
        assert_int_equal(got, wraps ? UNTOUCHED : want);
        got = UNTOUCHED;
        wraps = __builtin_sub_overflow(a, b, &want);
        assert_int_equal(sub64(a, b, &got), wraps ? FAIL_RANGE : FAIL_NONE);
        assert_int_equal(got, wraps ? UNTOUCHED : want);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_gmp),     cmocka_unit_test(agrees_at_the_ends),
        cmocka_unit_test(ties_go_to_the_even), cmocka_unit_test(refusals_leave_out_alone),
        cmocka_unit_test(sums_do_not_wrap),
    };
    return cmocka_run_group_tests_name("muldiv", tests, NULL, NULL);
}
