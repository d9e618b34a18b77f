/* core/share.c: reduced fractions, decimals over 100 and a million, shares of masses against GMP. */
#include "core_test.h"

#include <gmp.h>

#include "core/share.h"

static const struct share untouched = {7, 77};

static void assert_share(struct share s, uint32_t num, uint32_t den)
{
    assert_int_equal(s.num, num);
    assert_int_equal(s.den, den);
}

static void reduces(void **state)
{
    struct share s = untouched;

    (void)state;
    assert_int_equal(share_make(25, 1000, &s), FAIL_NONE);
    assert_share(s, 1, 40);
    assert_int_equal(share_make(0, 1000, &s), FAIL_NONE);
    assert_share(s, 0, 1);
    assert_int_equal(share_make(UINT64_MAX, UINT64_MAX, &s), FAIL_NONE);
    assert_share(s, 1, 1);
    assert_int_equal(share_make(INT32_MAX, INT32_MAX - 1, &s), FAIL_NONE);
    assert_share(s, INT32_MAX, INT32_MAX - 1);
    s = untouched;
    assert_int_equal(share_make(1, 0, &s), FAIL_ZERO);
    assert_int_equal(share_make(UINT64_C(1) << 31, 1, &s), FAIL_RANGE);
    assert_int_equal(share_make(1, UINT64_C(1) << 31, &s), FAIL_RANGE);
    assert_share(s, untouched.num, untouched.den);
}

static void of_masses(void **state)
{
    struct share s = untouched;

    (void)state;
    assert_int_equal(share_of_masses(340 * PG_PER_G, 11340 * PG_PER_G, &s), FAIL_NONE);
    assert_share(s, 17, 567);
    assert_int_equal(share_of_masses(2 * PG_PER_LB, 50 * PG_PER_LB, &s), FAIL_NONE);
    assert_share(s, 1, 25);
    assert_int_equal(share_of_masses(4 * PG_PER_OZ, 100 * PG_PER_LB, &s), FAIL_NONE);
    assert_share(s, 1, 400);
    s = untouched;
    assert_int_equal(share_of_masses(1, 0, &s), FAIL_ZERO);
    assert_int_equal(share_of_masses(-1, 5, &s), FAIL_RANGE);
    assert_int_equal(share_of_masses(1, -5, &s), FAIL_RANGE);
    assert_int_equal(share_of_masses(INT64_MIN, INT64_C(1) << 40, &s), FAIL_RANGE);
    assert_int_equal(share_of_masses(PG_PER_G, PG_PER_LB, &s), FAIL_NONE);
    assert_share(s, 100000, 45359237);
    s = untouched;
    assert_int_equal(share_of_masses(1, PG_PER_LB, &s), FAIL_RANGE);
    assert_share(s, untouched.num, untouched.den);
}

static void from_decimals(void **state)
{
    static const struct {
        const char *text;
        uint32_t over;
        enum fail fail;
        uint32_t num, den;
    } t[] = {
        {"1.75", 100, FAIL_NONE, 7, 400},
        {"100", 100, FAIL_NONE, 1, 1},
        {"0", 100, FAIL_NONE, 0, 1},
        {"0.000", 100, FAIL_NONE, 0, 1},
        {"1.750000000000000000000000000000", 100, FAIL_NONE, 7, 400},
        {"0001.75", 100, FAIL_NONE, 7, 400},
        {"10.50", 100, FAIL_NONE, 21, 200},
        {"10.0500", 100, FAIL_NONE, 201, 2000},
        {"156.25", 1000000, FAIL_NONE, 1, 6400},
        {"156", 1000000, FAIL_NONE, 39, 250000},
        {"0.0625", 1, FAIL_NONE, 1, 16},
        {".5", 1, FAIL_NONE, 1, 2},
        {"5.", 1, FAIL_NONE, 5, 1},
        {"0.000001", 100, FAIL_NONE, 1, 100000000},
        {"0.0000001", 100, FAIL_NONE, 1, 1000000000},
        {"0.00000001", 100, FAIL_RANGE, 0, 0},
        {"0.00000095367431640625", 1, FAIL_NONE, 1, 1048576}, /* 2^-20: twenty places */
        {"2147483647", 1, FAIL_NONE, 2147483647, 1},
        {"2147483648", 1, FAIL_RANGE, 0, 0},
        {"999999999999999999", 1, FAIL_RANGE, 0, 0},
        {"99999999999999999999999999", 1, FAIL_RANGE, 0, 0},
        {"1.00000000000000000000000001", 1, FAIL_RANGE, 0, 0},
        {"0.00000000000000000000000000000000000001", 1, FAIL_RANGE, 0, 0},
        {"10000000000000000000000000.5", 1, FAIL_RANGE, 0, 0},
        {"18446744073709551621", 1, FAIL_RANGE, 0, 0}, /* 2^64 + 5 */
        {"0.0000000000000000000000000000000000000000000000000000000000000000000001", 1, FAIL_RANGE, 0, 0},
        {"1", 0, FAIL_ZERO, 0, 0},
        {"", 100, FAIL_SYNTAX, 0, 0},
        {".", 100, FAIL_SYNTAX, 0, 0},
        {"1.2.3", 100, FAIL_SYNTAX, 0, 0},
        {"-1", 100, FAIL_SYNTAX, 0, 0},
        {"1 %", 100, FAIL_SYNTAX, 0, 0},
        {"1,75", 100, FAIL_SYNTAX, 0, 0},
        {"1a", 100, FAIL_SYNTAX, 0, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        struct share s = untouched;
        enum fail fail = share_from_decimal(t[i].text, strlen(t[i].text), t[i].over, &s);

        if (fail != t[i].fail)
            fail_msg("\"%s\" over %u: %d, not %d", t[i].text, t[i].over, fail, t[i].fail);
        assert_share(s, fail ? untouched.num : t[i].num, fail ? untouched.den : t[i].den);
    }
}

static void decimals_agree_with_gmp(void **state)
{
    uint64_t seed = 5;

    (void)state;
    for (int i = 0; i < 40000; i++) {
        static const uint32_t overs[] = {1, 100, 1000000};
        uint32_t over = overs[chance_below(&seed, 3)];
        uint64_t v = chance_bits(&seed, 40), ten = 1;
        unsigned places = (unsigned)chance_below(&seed, 10);
        char text[40];
        struct share s = untouched;
        mpq_t want;
        bool fits;

        for (unsigned k = 0; k < places; k++)
            ten *= 10;
        snprintf(text, sizeof text, "%" PRIu64 ".%0*" PRIu64, v / ten, (int)places, v % ten);
        if (places == 0)
            *strchr(text, '.') = '\0';
        mpq_init(want);
        mpz_set_ui(mpq_numref(want), v);
        mpz_set_ui(mpq_denref(want), ten * over);
        mpq_canonicalize(want);
        fits = mpz_fits_sint_p(mpq_numref(want)) && mpz_fits_sint_p(mpq_denref(want));
        assert_int_equal(share_from_decimal(text, strlen(text), over, &s), fits ? FAIL_NONE : FAIL_RANGE);
        if (fits)
            assert_share(s, (uint32_t)mpz_get_ui(mpq_numref(want)), (uint32_t)mpz_get_ui(mpq_denref(want)));
        mpq_clear(want);
    }
}

static void shares_of_a_mass(void **state)
{
    struct share third = {1, 3}, none = {0, 0}, nothing = {0, 1};
    mass_pg got = -7;

    (void)state;
    assert_int_equal(share_of(100, third, ROUND_HALF_EVEN, &got), FAIL_NONE);
    assert_int_equal(got, 33);
    assert_int_equal(share_of(100, third, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, 34);
    assert_int_equal(share_of(100, nothing, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, 0);
    assert_int_equal(share_of(100, none, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(share_of(INT64_MAX, (struct share){2, 1}, ROUND_UP, &got), FAIL_RANGE);
    assert_int_equal(share_of_ratio(100, third, none, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(share_of_ratio(100, third, nothing, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(share_of_ratio(100, third, (struct share){3, 0}, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(share_of_ratio(100, third, (struct share){1, 1}, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, 34);
    assert_int_equal(share_of_ratio(100, none, third, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(share_of_ratio(100, third, third, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, 100);
}

static void ratios_agree_with_gmp(void **state)
{
    uint64_t seed = 6;

    (void)state;
    for (int i = 0; i < 30000; i++) {
        struct share a = {(uint32_t)chance_bits(&seed, 31), 1 + (uint32_t)chance_below(&seed, INT32_MAX)};
        struct share b = {1 + (uint32_t)chance_below(&seed, INT32_MAX), 1 + (uint32_t)chance_below(&seed, INT32_MAX)};
        mass_pg mass = (mass_pg)chance_bits(&seed, 63), got = -7;
        mpz_t v, den;
        bool fits;

        mpz_inits(v, den, NULL);
        mpz_set_si(v, mass);
        mpz_mul_ui(v, v, a.num);
        mpz_mul_ui(v, v, b.den);
        mpz_set_ui(den, a.den);
        mpz_mul_ui(den, den, b.num);
        mpz_fdiv_q(v, v, den);
        fits = mpz_fits_slong_p(v);
        assert_int_equal(share_of_ratio(mass, a, b, ROUND_DOWN, &got), fits ? FAIL_NONE : FAIL_RANGE);
        if (fits)
            assert_int_equal(got, mpz_get_si(v));
        mpz_clears(v, den, NULL);
    }
}

static void micropercents(void **state)
{
    int64_t got = -7;

    (void)state;
    assert_int_equal(share_micropercent(PG_PER_G, PG_PER_KG, &got), FAIL_NONE);
    assert_int_equal(got, 100000); /* 0.1 % = 1000 ppm */
    assert_int_equal(share_micropercent(1, 1000000, &got), FAIL_NONE);
    assert_int_equal(got, 100); /* 1 ppm */
    assert_int_equal(share_micropercent(INT64_MAX, INT64_MAX, &got), FAIL_NONE);
    assert_int_equal(got, 100000000);
    assert_int_equal(share_micropercent(-1, 2, &got), FAIL_NONE);
    assert_int_equal(got, -50000000);
    got = -7;
    assert_int_equal(share_micropercent(1, 0, &got), FAIL_ZERO);
    assert_int_equal(share_micropercent(1, -1, &got), FAIL_RANGE);
    assert_int_equal(share_micropercent(INT64_MAX, 1, &got), FAIL_RANGE);
    assert_int_equal(got, -7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reduces),          cmocka_unit_test(of_masses),
        cmocka_unit_test(from_decimals),    cmocka_unit_test(decimals_agree_with_gmp),
        cmocka_unit_test(shares_of_a_mass), cmocka_unit_test(ratios_agree_with_gmp),
        cmocka_unit_test(micropercents),
    };
    return cmocka_run_group_tests_name("share", tests, NULL, NULL);
}
