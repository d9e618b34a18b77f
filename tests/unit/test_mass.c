/* core/mass.c and core/mass_text.c: decimal text both ways, by table and against GMP. */
#include "core_test.h"

#include <gmp.h>

#include "core/mass.h"

#define UNTOUCHED INT64_C(-77)
#define LB PG_PER_LB
#define OZ PG_PER_OZ

static void parses(void **state)
{
    static const struct {
        const char *text;
        enum fail fail;
        mass_pg mass;
    } t[] = {
        {"12.5 kg", FAIL_NONE, 12 * PG_PER_KG + 500 * PG_PER_G},
        {"340g", FAIL_NONE, 340 * PG_PER_G},
        {"-3 oz", FAIL_NONE, -3 * OZ},
        {"+3 oz", FAIL_NONE, 3 * OZ},
        {"- 3 oz", FAIL_NONE, -3 * OZ},
        {"  \t7 mg \t", FAIL_NONE, 7 * PG_PER_MG},
        {"0012.340 KG", FAIL_NONE, 12340 * PG_PER_G},
        {".5 lb", FAIL_NONE, LB / 2},
        {"5. g", FAIL_NONE, 5 * PG_PER_G},
        {"0 kg", FAIL_NONE, 0},
        {"-0 kg", FAIL_NONE, 0},
        {"3 gr", FAIL_NONE, 3 * PG_PER_GR},
        {"1.23 GR", FAIL_NONE, PG_PER_GR / 100 * 123},
        {"3 lb 4.5 oz", FAIL_NONE, 3 * LB + 9 * OZ / 2},
        {"3lb4.5oz", FAIL_NONE, 3 * LB + 9 * OZ / 2},
        {"-3 lb 4.5 oz", FAIL_NONE, -3 * LB - 9 * OZ / 2},
        {"0 lb 0 oz", FAIL_NONE, 0},
        {"1 lb 15.999 oz", FAIL_NONE, LB + OZ / 1000 * 15999},
        {"5.125 oz", FAIL_NONE, OZ / 8 * 41},
        {"1.0000000000000000000000000000000000000000 kg", FAIL_NONE, PG_PER_KG},
        {"0.000000000000001 kg", FAIL_NONE, 1},
        {"0.0000000000000001 kg", FAIL_INEXACT, 0},
        {"0.00000000000000010 kg", FAIL_INEXACT, 0},
        {"0.0000001 lb", FAIL_NONE, 45359237},
        {"0.00000001 lb", FAIL_INEXACT, 0},
        {"0.00000016 oz", FAIL_INEXACT, 0},
        {"0.0000016 oz", FAIL_NONE,
         45359237}, /* a ten-millionth of a pound: more places than an ounce takes as a rule */
        {"9223.372036854775807 kg", FAIL_NONE, INT64_MAX},
        {"9223.372036854775808 kg", FAIL_RANGE, 0},
        {"-9223.372036854775808 kg", FAIL_NONE, INT64_MIN},
        {"-9223.372036854775809 kg", FAIL_RANGE, 0},
        {"9223372036.854775807 mg", FAIL_NONE, INT64_MAX},
        {"9224 kg", FAIL_RANGE, 0},
        {"-9224 kg", FAIL_RANGE, 0},
        {"99999999999999999999999999999999 g", FAIL_RANGE, 0},
        {"20333 lb 15 oz", FAIL_NONE, 20333 * LB + 15 * OZ},
        {"20334 lb", FAIL_NONE, 20334 * LB},
        {"20334 lb 15.9 oz", FAIL_RANGE, 0},
        {"-20334 lb 15.9 oz", FAIL_RANGE, 0},
        {"5", FAIL_UNIT, 0},
        {"5 ", FAIL_UNIT, 0},
        {"5 kgs", FAIL_UNIT, 0},
        {"5 Kg", FAIL_UNIT, 0},
        {"5 k", FAIL_UNIT, 0},
        {"5 a", FAIL_UNIT, 0},
        {"5 z", FAIL_UNIT, 0},
        {"5 A", FAIL_UNIT, 0},
        {"5 Z", FAIL_UNIT, 0},
        {"5 lb 3", FAIL_UNIT, 0},
        {"", FAIL_SYNTAX, 0},
        {" ", FAIL_SYNTAX, 0},
        {"-", FAIL_SYNTAX, 0},
        {"--5 kg", FAIL_SYNTAX, 0},
        {"kg", FAIL_SYNTAX, 0},
        {". kg", FAIL_SYNTAX, 0},
        {"1.2.3 kg", FAIL_SYNTAX, 0},
        {"12,5 kg", FAIL_SYNTAX, 0},
        {"1 000 kg", FAIL_SYNTAX, 0},
        {"5 kg 3 oz", FAIL_SYNTAX, 0},
        {"5 kg x", FAIL_SYNTAX, 0},
        {"5 _kg", FAIL_SYNTAX, 0},
        {"5 kg{", FAIL_SYNTAX, 0},
        {"5 @", FAIL_SYNTAX, 0},
        {"5 oz 3 lb", FAIL_SYNTAX, 0},
        {"3 lb -4 oz", FAIL_SYNTAX, 0},
        {"3 lb 4 g", FAIL_SYNTAX, 0},
        {"3 lb 4 oz 1", FAIL_SYNTAX, 0},
        {"3 lb 45 oz", FAIL_SYNTAX, 0},
        {"3 lb 16 oz", FAIL_SYNTAX, 0},
        {"-3 lb 16 oz", FAIL_SYNTAX, 0},
        {"3.5 lb 4 oz", FAIL_SYNTAX, 0},
        {"3 lb oz", FAIL_SYNTAX, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        mass_pg got = UNTOUCHED;
        size_t n = strlen(t[i].text);
        char *exact = memcpy(malloc(n + !n), t[i].text, n); /* the sanitizer sees a byte read behind it */
        enum fail fail = mass_parse(exact, n, &got);

        free(exact);

        if (fail != t[i].fail || got != (fail ? UNTOUCHED : t[i].mass))
            fail_msg("\"%s\": %" PRId64 " (%d), not %" PRId64 " (%d)", t[i].text, got, fail, t[i].mass, t[i].fail);
    }
}

/* Only the n bytes count: the rest may be anything. */
static void parse_heeds_its_length(void **state)
{
    mass_pg got;

    (void)state;
    assert_int_equal(mass_parse("12 kg5", 5, &got), FAIL_NONE);
    assert_int_equal(got, 12 * PG_PER_KG);
    assert_int_equal(mass_parse("12 kg", 4, &got), FAIL_UNIT);
    assert_int_equal(mass_parse("1\0002 kg", 6, &got), FAIL_SYNTAX);
    assert_int_equal(mass_parse("1 kg\0", 5, &got), FAIL_SYNTAX);
    assert_int_equal(mass_from_decimal("125", 2, false, UNIT_KG, &got), FAIL_NONE);
    assert_int_equal(got, 12 * PG_PER_KG);
    assert_int_equal(mass_from_decimal("", 0, false, UNIT_KG, &got), FAIL_SYNTAX);
    assert_int_equal(mass_from_decimal(" 1", 2, false, UNIT_KG, &got), FAIL_SYNTAX);
    assert_int_equal(mass_from_decimal("-1", 2, false, UNIT_KG, &got), FAIL_SYNTAX);
    assert_int_equal(mass_from_decimal("1", 1, false, UNIT_NONE, &got), FAIL_UNIT);
}

static void units(void **state)
{
    static const char *const texts[] = {"", "kg", "g", "mg", "lb", "oz", "gr"};

    (void)state;
    for (unsigned u = UNIT_KG; u <= UNIT_GR; u++) {
        assert_string_equal(unit_text((enum mass_unit)u), texts[u]);
        assert_int_equal(unit_from_text(texts[u], strlen(texts[u])), u);
        assert_true(unit_pg((enum mass_unit)u) > 0);
    }
    assert_string_equal(unit_text(UNIT_NONE), "");
    assert_string_equal(unit_text((enum mass_unit)7), "");
    assert_int_equal(unit_pg((enum mass_unit)7), 0);
    assert_int_equal(unit_from_text("", 0), UNIT_NONE);
    assert_int_equal(unit_from_text("g ", 2), UNIT_NONE);
    assert_int_equal(unit_from_text("gX", 1), UNIT_G);
    assert_int_equal(unit_from_text("LB", 2), UNIT_LB);
    assert_int_equal(unit_from_text("Mg", 2), UNIT_NONE); /* a megagram is not a milligram */
}

static void formats(void **state)
{
    static const struct {
        mass_pg mass;
        enum mass_unit unit;
        int places;
        const char *text;
    } t[] = {
        {12345 * PG_PER_G, UNIT_KG, 3, "12.345"},
        {12345 * PG_PER_G, UNIT_KG, 0, "12"},
        {12500 * PG_PER_G, UNIT_KG, 0, "12"}, /* half-even */
        {13500 * PG_PER_G, UNIT_KG, 0, "14"},
        {12345 * PG_PER_G, UNIT_KG, 2, "12.34"},
        {12355 * PG_PER_G, UNIT_KG, 2, "12.36"},
        {-12345 * PG_PER_G, UNIT_KG, 3, "-12.345"},
        {999999 * PG_PER_MG, UNIT_G, 2, "1000.00"},
        {9999 * PG_PER_G, UNIT_KG, 0, "10"},
        {0, UNIT_G, 2, "0.00"},
        {-1, UNIT_G, 2, "0.00"},
        {-5 * PG_PER_MG, UNIT_G, 2, "0.00"},
        {-6 * PG_PER_MG, UNIT_G, 2, "-0.01"},
        {0, UNIT_KG, -1, "0"},
        {1, UNIT_KG, -1, "0.000000000000001"},
        {-1, UNIT_KG, -1, "-0.000000000000001"},
        {1, UNIT_G, -1, "0.000000000001"},
        {10 * PG_PER_KG, UNIT_G, -1, "10000"},
        {INT64_MAX, UNIT_KG, -1, "9223.372036854775807"},
        {INT64_MIN, UNIT_KG, -1, "-9223.372036854775808"},
        {INT64_MIN, UNIT_MG, 15, "-9223372036.854775808000000"},
        {INT64_MIN, UNIT_MG, 99, "-9223372036.854775808000000"},
        {LB * 5 / 2, UNIT_LB, -1, "2.5"},
        {1, UNIT_LB, -1, "0"}, /* 2.2e-15 lb */
        {OZ / 8, UNIT_OZ, 3, "0.125"},
    };
    char buf[MASS_TEXT_MAX];

    (void)state;
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        assert_int_equal(mass_format(t[i].mass, t[i].unit, t[i].places, buf, sizeof buf), strlen(t[i].text));
        assert_string_equal(buf, t[i].text);
    }
}

static void format_heeds_its_room(void **state)
{
    char buf[16];

    (void)state;
    memset(buf, 'x', sizeof buf);
    assert_int_equal(mass_format(-PG_PER_KG, UNIT_G, 1, buf, 7), 0);
    assert_int_equal(mass_format(-PG_PER_KG, UNIT_G, 1, buf, 0), 0);
    assert_int_equal(buf[0], 'x');
    assert_int_equal(mass_format(-PG_PER_KG, UNIT_G, 1, buf, 8), 7);
    assert_string_equal(buf, "-1000.0");
    assert_int_equal(buf[8], 'x');
    assert_int_equal(mass_format(1, UNIT_NONE, 1, buf, sizeof buf), 0);
    assert_int_equal(mass_format_unit(5 * PG_PER_G, UNIT_G, 1, buf, 5), 0);
    assert_int_equal(mass_format_unit(5 * PG_PER_G, UNIT_G, 1, buf, 6), 5);
    assert_string_equal(buf, "5.0 g");
    assert_int_equal(mass_format_unit(5 * PG_PER_G, UNIT_KG, 3, buf, sizeof buf), 8);
    assert_string_equal(buf, "0.005 kg");
    assert_int_equal(mass_format_unit(5, UNIT_NONE, 3, buf, sizeof buf), 0);
}

static void any_mass_fits(void **state)
{
    char buf[MASS_TEXT_MAX];

    (void)state;
    for (enum mass_unit u = UNIT_KG; u <= UNIT_GR; u++)
        for (int places = -1; places <= 16; places++)
            assert_true(mass_format_unit(INT64_MIN, u, places, buf, sizeof buf) > 0);
}

static void places(void **state)
{
    (void)state;
    assert_int_equal(mass_places(5 * PG_PER_G, UNIT_KG), 3);
    assert_int_equal(mass_places(10 * PG_PER_MG, UNIT_G), 2);
    assert_int_equal(mass_places(2 * PG_PER_KG, UNIT_KG), 0);
    assert_int_equal(mass_places(500 * PG_PER_KG / 1000, UNIT_KG), 1);
    assert_int_equal(mass_places(LB / 200, UNIT_LB), 3);
    assert_int_equal(mass_places(OZ / 8, UNIT_OZ), 3);
    assert_int_equal(mass_places(5 * PG_PER_G, UNIT_LB), 6);
    assert_int_equal(mass_places(1, UNIT_KG), 6);
    assert_int_equal(mass_places(0, UNIT_KG), 0);
    assert_int_equal(mass_places(-1, UNIT_KG), 0);
    assert_int_equal(mass_places(1, UNIT_NONE), 0);
}

static void to_division(void **state)
{
    static const struct {
        mass_pg mass, division, even, down, up;
    } t[] = {
        {0, 5, 0, 0, 0},          {12, 5, 10, 10, 15},  {13, 5, 15, 10, 15},      {-12, 5, -10, -15, -10},
        {-13, 5, -15, -15, -10},  {15, 10, 20, 10, 20}, {25, 10, 20, 20, 30},     {-15, 10, -20, -20, -10},
        {-25, 10, -20, -30, -20}, {10, 10, 10, 10, 10}, {-10, 10, -10, -10, -10}, {7, 1, 7, 7, 7},
    };
    mass_pg got;

    (void)state;
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        assert_int_equal(mass_to_division(t[i].mass, t[i].division, ROUND_HALF_EVEN, &got), FAIL_NONE);
        assert_int_equal(got, t[i].even);
        assert_int_equal(mass_to_division(t[i].mass, t[i].division, ROUND_DOWN, &got), FAIL_NONE);
        assert_int_equal(got, t[i].down);
        assert_int_equal(mass_to_division(t[i].mass, t[i].division, ROUND_UP, &got), FAIL_NONE);
        assert_int_equal(got, t[i].up);
    }
    got = UNTOUCHED;
    assert_int_equal(mass_to_division(5, 0, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(mass_to_division(5, -5, ROUND_UP, &got), FAIL_ZERO);
    assert_int_equal(mass_to_division(INT64_MAX, 1000, ROUND_UP, &got), FAIL_RANGE);
    assert_int_equal(mass_to_division(INT64_MIN, 1000, ROUND_DOWN, &got), FAIL_RANGE);
    assert_int_equal(got, UNTOUCHED);
    assert_int_equal(mass_to_division(INT64_MIN, INT64_MAX, ROUND_UP, &got), FAIL_NONE);
    assert_int_equal(got, -INT64_MAX);
}

/* Digits by chance: up to 24 before and 24 after the sign, with zeros at both ends more often than by chance. */
static size_t random_digits(uint64_t *seed, char *text)
{
    size_t before = chance_below(seed, chance(seed) & 1 ? 6 : 24),
           after = chance_below(seed, chance(seed) & 3 ? 16 : 24);
    size_t n = 0;
    uint64_t kind = chance(seed);

    for (size_t i = 0; i < before; i++)
        text[n++] = (char)('0' + (i < (kind & 3) ? 0 : chance_below(seed, 10)));
    if (after == 0 && before > 0 && (kind & 4))
        return n;
    text[n++] = '.';
    for (size_t i = 0; i < after; i++)
        text[n++] = (char)('0' + (i > ((kind >> 4) & 15) ? 0 : chance_below(seed, 10)));
    return n;
}

/* GMP's answer for digits times a unit. */
static enum fail expected(const char *digits, size_t n, bool negative, mass_pg one, mass_pg *out)
{
    char whole[64];
    size_t len = 0, decimals = 0;
    mpz_t v, ten, rest;
    enum fail fail = FAIL_NONE;

    for (size_t i = 0; i < n; i++) {
        if (digits[i] == '.')
            decimals = n - i - 1;
        else
            whole[len++] = digits[i];
    }
    whole[len] = '\0';
    if (len == 0)
        return FAIL_SYNTAX;
    mpz_inits(v, ten, rest, NULL);
    mpz_set_str(v, whole, 10);
    mpz_mul_si(v, v, negative ? -one : one);
    mpz_ui_pow_ui(ten, 10, decimals);
    mpz_tdiv_qr(v, rest, v, ten);
    if (!mpz_fits_slong_p(v))
        fail = FAIL_RANGE;
    else if (mpz_sgn(rest))
        fail = FAIL_INEXACT;
    else
        *out = mpz_get_si(v);
    mpz_clears(v, ten, rest, NULL);
    return fail;
}

static void text_to_mass_agrees_with_gmp(void **state)
{
    uint64_t seed = 42;
    unsigned exact = 0, coarse = 0;

    (void)state;
    for (int i = 0; i < 120000; i++) {
        char text[64];
        size_t n = random_digits(&seed, text);
        enum mass_unit unit = (enum mass_unit)(1 + chance_below(&seed, 6));
        bool negative = chance(&seed) & 1;
        mass_pg want = UNTOUCHED, got = UNTOUCHED;
        enum fail fail = mass_from_decimal(text, n, negative, unit, &got),
                  right = expected(text, n, negative, unit_pg(unit), &want);

        /* Where it is both too much and too fine, either may be said. */
        if ((fail != right && !(fail == FAIL_INEXACT && right == FAIL_RANGE)) || got != want)
            fail_msg("\"%.*s\" unit %d: %" PRId64 " (%d), not %" PRId64 " (%d)", (int)n, text, unit, got, fail, want,
                     right);
        exact += fail == FAIL_NONE;
        coarse += fail == FAIL_INEXACT;
    }
    assert_in_range(exact, 20000, 100000);
    assert_in_range(coarse, 5000, 100000);
}

/* GMP's mass / unit with so many decimals, half-even. */
static void expected_text(mass_pg mass, mass_pg one, unsigned places, char *out, size_t cap)
{
    mpz_t v, ten, rest;
    char digits[64];
    size_t n;
    int cmp;

    mpz_inits(v, ten, rest, NULL);
    mpz_set_si(v, mass);
    mpz_abs(v, v);
    mpz_ui_pow_ui(ten, 10, places);
    mpz_mul(v, v, ten);
    mpz_tdiv_qr_ui(v, rest, v, (unsigned long)one);
    mpz_mul_ui(rest, rest, 2);
    cmp = mpz_cmp_ui(rest, (unsigned long)one);
    if (cmp > 0 || (cmp == 0 && mpz_odd_p(v)))
        mpz_add_ui(v, v, 1);
    gmp_snprintf(digits, sizeof digits, "%0*Zd", (int)places + 1, v);
    n = strlen(digits) - places;
    snprintf(out, cap, "%s%.*s%s%s", mass < 0 && mpz_sgn(v) ? "-" : "", (int)n, digits, places ? "." : "", digits + n);
    mpz_clears(v, ten, rest, NULL);
}

static void mass_to_text_agrees_with_gmp(void **state)
{
    uint64_t seed = 4711;

    (void)state;
    for (int i = 0; i < 60000; i++) {
        enum mass_unit unit = (enum mass_unit)(1 + chance_below(&seed, 6));
        unsigned places = (unsigned)chance_below(&seed, 16);
        mass_pg mass = chance_signed(&seed);
        char want[80], got[MASS_TEXT_MAX];

        if (i % 4 == 0) /* ties */
            mass = (mass_pg)chance_below(&seed, 100000) * (unit_pg(unit) / 2000);
        expected_text(mass, unit_pg(unit), places, want, sizeof want);
        assert_int_equal(mass_format(mass, unit, (int)places, got, sizeof got), strlen(want));
        assert_string_equal(got, want);
    }
}

static void shortest_text_comes_back(void **state)
{
    uint64_t seed = 99;

    (void)state;
    for (int i = 0; i < 60000; i++) {
        enum mass_unit unit = (enum mass_unit)(1 + chance_below(&seed, 3));
        mass_pg mass = chance_signed(&seed), back = UNTOUCHED;
        char text[MASS_TEXT_MAX], shorter[80];
        size_t n = mass_format_unit(mass, unit, -1, text, sizeof text);

        assert_int_equal(mass_parse(text, n, &back), FAIL_NONE);
        assert_int_equal(back, mass);
        n = mass_format(mass, unit, -1, text, sizeof text);
        if (strchr(text, '.')) { /* a digit less would not be exact */
            assert_int_not_equal(text[n - 1], '0');
            memcpy(shorter, text + (mass < 0), n);
            assert_true(mass_from_decimal(shorter, n - 1 - (mass < 0), mass < 0, unit, &back) != FAIL_NONE ||
                        back != mass);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parses),
        cmocka_unit_test(parse_heeds_its_length),
        cmocka_unit_test(units),
        cmocka_unit_test(formats),
        cmocka_unit_test(format_heeds_its_room),
        cmocka_unit_test(any_mass_fits),
        cmocka_unit_test(places),
        cmocka_unit_test(to_division),
        cmocka_unit_test(text_to_mass_agrees_with_gmp),
        cmocka_unit_test(mass_to_text_agrees_with_gmp),
        cmocka_unit_test(shortest_text_comes_back),
    };
    return cmocka_run_group_tests_name("mass", tests, NULL, NULL);
}
