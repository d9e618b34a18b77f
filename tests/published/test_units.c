/* Units against published figures. */
#include "../unit/core_test.h"

#include "core/share.h"

static mass_pg mass(const char *text)
{
    mass_pg m = 0;

    assert_int_equal(mass_parse(text, strlen(text), &m), FAIL_NONE);
    return m;
}

static void assert_text(mass_pg m, enum mass_unit unit, int places, const char *want)
{
    char buf[MASS_TEXT_MAX];

    assert_true(mass_format(m, unit, places, buf, sizeof buf) > 0);
    assert_string_equal(buf, want);
}

/* NIST SP 811, Appendix B.8 and its footnotes; NIST Handbook 44, Appendix C: exact by definition. */
static void exact_factors(void **state)
{
    (void)state;
    assert_text(mass("1 lb"), UNIT_G, -1, "453.59237");
    assert_text(mass("1 oz"), UNIT_G, -1, "28.349523125");
    assert_text(mass("1 gr"), UNIT_G, -1, "0.06479891");
    assert_int_equal(mass("1 lb"), 16 * mass("1 oz"));
    assert_int_equal(mass("1 lb"), 7000 * mass("1 gr"));
    assert_int_equal(2 * mass("1 oz"), 875 * mass("1 gr")); /* an ounce is 437.5 grains */
    assert_int_equal(mass("1 kg"), 1000 * mass("1 g"));
    assert_int_equal(mass("1 g"), 1000 * mass("1 mg"));
}

/* The dram (1/16 oz = 1.7718451953125 g; NIST Handbook 44, Appendix C) is not a unit here, but exact to the picogram within
 * its last half: 13 decimals of a gram are one more than a picogram has. */
static void finer_than_a_picogram(void **state)
{
    mass_pg m = 0;

    (void)state;
    assert_int_equal(mass_parse("1.7718451953125 g", 17, &m), FAIL_INEXACT);
    assert_int_equal(mass_parse("0.0625 oz", 9, &m), FAIL_INEXACT);
    assert_int_equal(mass("0.125 oz"), 2 * INT64_C(1771845195312) + 1);
}

/* Rounded reciprocals: 1 kg in lb and oz, 1 g in grains; published unit tables that cite NIST SP 811. */
static void rounded_reciprocals(void **state)
{
    (void)state;
    assert_text(mass("1 kg"), UNIT_LB, 12, "2.204622621849");
    assert_text(mass("1 kg"), UNIT_OZ, 11, "35.27396194958");
    assert_text(mass("1 g"), UNIT_GR, 11, "15.43235835294");
}

/* Worked from the exact factors above. */
static void worked_values(void **state)
{
    (void)state;
    assert_text(mass("4 oz"), UNIT_G, -1, "113.3980925");
    assert_text(mass("0.25 oz"), UNIT_G, -1, "7.08738078125");
    assert_text(mass("5 lb 3.5 oz"), UNIT_G, -1, "2367.1851809375");
    assert_text(mass("25 lb"), UNIT_G, -1, "11339.80925");
    assert_text(mass("100 lb"), UNIT_G, -1, "45359.237");
    assert_text(mass("2500 g") - mass("5 lb"), UNIT_OZ, 4, "8.1849"); /* 2 500 g = 5 lb 8.1849 oz */
}

/* n oz per 100 lb is n/1600 in any unit, 625 n ppm. 4 oz in 100 lb: exactly 1/400. */
static void ounces_per_hundred_pounds(void **state)
{
    int64_t micropercent;

    (void)state;
    for (int n = 1; n <= 16; n++) {
        struct share s;

        assert_int_equal(share_of_masses(n * mass("1 oz"), mass("100 lb"), &s), FAIL_NONE);
        assert_int_equal((uint64_t)s.num * 1600, (uint64_t)s.den * (unsigned)n);
        assert_int_equal(share_micropercent(n * mass("1 oz"), mass("100 lb"), &micropercent), FAIL_NONE);
        assert_int_equal(micropercent, 62500 * n);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_factors),
        cmocka_unit_test(finer_than_a_picogram),
        cmocka_unit_test(rounded_reciprocals),
        cmocka_unit_test(worked_values),
        cmocka_unit_test(ounces_per_hundred_pounds),
    };
    return cmocka_run_group_tests_name("published units", tests, NULL, NULL);
}
