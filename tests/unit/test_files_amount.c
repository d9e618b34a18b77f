/* Amounts in the trade's words are exact shares. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <string.h>
#include <cmocka.h>

#include "files/amount.h"

struct good {
    const char *text;
    uint8_t base;
    uint32_t num, den;
};

static const struct good amounts[] = {
    {"1.6 % of meat", BASE_MEAT, 2, 125},
    {"1.6% of meat", BASE_MEAT, 2, 125},
    {"  10 %  of \t meat ", BASE_MEAT, 1, 10},
    {"2.5 % of total", BASE_TOTAL, 1, 40},
    {"0.000001 % of total", BASE_TOTAL, 1, 100000000},
    {"500 ppm of meat", BASE_MEAT, 1, 2000},
    {"0.01 ppm of total", BASE_TOTAL, 1, 100000000},
    /* the usual dose of curing salt, in three wordings: reference case C1, 1/400 */
    {"2.5 g per kg of meat", BASE_MEAT, 1, 400},
    {"1 oz for 25 lb of meat", BASE_MEAT, 1, 400},
    {"4 oz per 100 lb of meat", BASE_MEAT, 1, 400},
    {"340 g for 11.34 kg of meat", BASE_MEAT, 17, 567}, /* 340/11340 */
    {"1 bag of 2 lb for 50 lb of meat", BASE_MEAT, 1, 25},
    {"2 bags of 1 lb for 50 lb of meat", BASE_MEAT, 1, 25},
    {"1 lb 8 oz for 25 lb of meat", BASE_MEAT, 3, 50},
    {"2.20 lb for 60 lb of meat", BASE_MEAT, 11, 300}, /* reference case C19 */
    {"999 % of meat", BASE_MEAT, 999, 100},
};

static void amounts_are_exact(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
        struct amount a = {9, {0, 0}};
        assert_ptr_equal(amount_take(amounts[i].text, &a), NULL);
        assert_int_equal(a.base, amounts[i].base);
        assert_int_equal(a.share.num, amounts[i].num);
        assert_int_equal(a.share.den, amounts[i].den);
    }
}

/* Facts of the trade, common practice, no source: inclusions of 10 % of a 10 lb block are 1 lb; a bag rated for 25 lb of
 * meat is used 40 % for 10 lb. */
static void trade_facts_hold(void **state)
{
    (void)state;
    struct amount a;
    mass_pg m;
    assert_null(amount_take("10 % of meat", &a));
    assert_int_equal(share_of(10 * PG_PER_LB, a.share, ROUND_HALF_EVEN, &m), FAIL_NONE);
    assert_int_equal(m, PG_PER_LB);
    assert_null(amount_take("1 bag of 10 oz for 25 lb of meat", &a));
    assert_int_equal(share_of(10 * PG_PER_LB, a.share, ROUND_HALF_EVEN, &m), FAIL_NONE);
    assert_int_equal(m, 4 * PG_PER_OZ);
}

static const char *const bad_amounts[] = {
    "",
    "1.6",
    "1.6 %",
    "% of meat",
    "1.6 % of",
    "-1 % of meat",
    "1,6 % of meat",
    "1e1 % of meat",
    "0x10 % of meat",
    "1..6 % of meat",
    "1000 % of meat",
    "100 % of total",
    "0 ppm of meat",
    "5 g of meat",
    "5 g per of meat",
    "per kg of meat",
    "5 per kg of meat",
    "5 g per 0 kg of meat",
    "-5 g per kg of meat",
    "5 g per kg of total",
    "0 bags of 2 lb for 50 lb of meat",
    "100 bags of 2 lb for 50 lb of meat",
    "bag of 2 lb for 50 lb of meat",
    "1 bag of 2 for 50 lb of meat",
    "1 mg for 9000 kg of meat", /* the fraction's terms pass 2^31 */
    "9 bags of 9000 kg for 1 g of meat",
    "0.0000001 % of total",
};

static void wrong_amounts_are_refused_and_leave_no_trace(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad_amounts / sizeof *bad_amounts; i++) {
        struct amount a = {77, {5, 7}};
        if (!amount_take(bad_amounts[i], &a))
            fail_msg("taken: %s", bad_amounts[i]);
        assert_true(a.base == 77 && a.share.num == 5 && a.share.den == 7);
    }
    char long_text[400];
    memset(long_text, '1', sizeof long_text);
    strcpy(long_text + 380, " % of meat");
    struct amount a;
    assert_non_null(amount_take(long_text, &a));
}

/* 9 CFR 424.21(c): a quarter ounce to 100 lb is 156.25 ppm, 7/8 oz 546.875 ppm (reference: meat-trade section 2). */
static void limits_of_the_law_are_exact(void **state)
{
    (void)state;
    struct share a;
    struct share b;
    assert_null(limit_take("0.25 oz per 100 lb", &a));
    assert_null(limit_take("156.25 ppm", &b));
    assert_true(a.num == 1 && a.den == 6400 && b.num == 1 && b.den == 6400);
    assert_null(limit_take("0.875 oz per 100 lb", &a));
    assert_null(limit_take("546.875 ppm", &b));
    assert_true(a.num == b.num && a.den == b.den);
    assert_null(limit_take("0.5 %", &a));
    assert_true(a.num == 1 && a.den == 200);
    assert_non_null(limit_take("156.25", &a));
    assert_non_null(limit_take("2 kg per kg", &a));
}

static void bands_are_a_share_or_a_mass(void **state)
{
    (void)state;
    struct band_side b;
    assert_null(band_take("2 %", &b));
    assert_true(b.given && !b.is_mass && b.share.num == 1 && b.share.den == 50);
    assert_null(band_take("0%", &b));
    assert_true(b.given && !b.is_mass && b.share.num == 0 && b.share.den == 1);
    assert_null(band_take("5 g", &b));
    assert_true(b.given && b.is_mass && b.mass == 5 * PG_PER_G);
    assert_null(band_take("0 g", &b));
    assert_non_null(band_take("2", &b));
    assert_non_null(band_take("-2 g", &b));
    assert_non_null(band_take("101 %", &b));
    assert_non_null(band_take("%", &b));
}

static void percentages_lie_above_zero_up_to_the_whole(void **state)
{
    (void)state;
    struct share s;
    assert_null(percent_take("6.25 %", &s));
    assert_true(s.num == 1 && s.den == 16);
    assert_null(percent_take("100 %", &s));
    assert_non_null(percent_take("100.1 %", &s));
    assert_non_null(percent_take("0 %", &s));
    assert_non_null(percent_take("6.25", &s));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(amounts_are_exact),
        cmocka_unit_test(trade_facts_hold),
        cmocka_unit_test(wrong_amounts_are_refused_and_leave_no_trace),
        cmocka_unit_test(limits_of_the_law_are_exact),
        cmocka_unit_test(bands_are_a_share_or_a_mass),
        cmocka_unit_test(percentages_lie_above_zero_up_to_the_whole),
    };
    return cmocka_run_group_tests_name("files_amount", tests, NULL, NULL);
}
