/* Scaling, limits and bands against regulations and facts of the trade. Figures of regulations are those of the 2015 annual
 * edition of 9 CFR; confirm against a current one before production relies on them. */
#include "../unit/core_test.h"

#include "core/scaling.h"

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

static struct share share_in(const char *text, uint32_t over)
{
    struct share s = {0, 0};

    assert_int_equal(share_from_decimal(text, strlen(text), over, &s), FAIL_NONE);
    return s;
}

static mass_pg part(const char *of, struct share s)
{
    mass_pg m = 0;

    assert_int_equal(share_of(mass(of), s, ROUND_HALF_EVEN, &m), FAIL_NONE);
    return m;
}

/* Parts per million of `part` in `whole`, in hundredths. */
static int64_t ppm(mass_pg part_mass, mass_pg whole)
{
    int64_t micropercent = 0;

    assert_int_equal(share_micropercent(part_mass, whole, &micropercent), FAIL_NONE);
    return micropercent;
}

/* Common practice, no source: inclusions of 10 % of a 10 lb block are 1 lb; four that share it equally are 4 oz each. */
static void inclusions(void **state)
{
    struct share quarter;

    (void)state;
    assert_int_equal(part("10 lb", share_in("10", 100)), mass("1 lb"));
    assert_int_equal(share_make(1, 40, &quarter), FAIL_NONE);
    assert_int_equal(part("10 lb", quarter), mass("4 oz"));
    assert_int_equal(part("10 lb", share_in("2.5", 100)), mass("4 oz"));
}

/* Common practice, no source: pack weight x actual meat / rated meat. A bag rated for 25 lb is used 40 % for 10 lb; a pack of
 * 2.20 lb rated for 60 lb gives 1.7417 lb = 1 lb 11.87 oz = 790.0 g for 47.5 lb. */
static void seasoning_bag(void **state)
{
    struct share bag;
    int64_t used = 0;
    mass_pg m;

    (void)state;
    assert_int_equal(share_micropercent(mass("10 lb"), mass("25 lb"), &used), FAIL_NONE);
    assert_int_equal(used, INT64_C(40) * 1000000);
    assert_int_equal(share_of_masses(mass("2 lb"), mass("25 lb"), &bag), FAIL_NONE);
    assert_int_equal(part("10 lb", bag) * 5, mass("2 lb") * 2);

    assert_int_equal(share_of_masses(mass("2.20 lb"), mass("60 lb"), &bag), FAIL_NONE);
    m = part("47.5 lb", bag);
    assert_text(m, UNIT_LB, 4, "1.7417");
    assert_text(m - mass("1 lb"), UNIT_OZ, 2, "11.87");
    assert_text(m, UNIT_G, 1, "790.0");
}

/* Salt 1.6 % of the block, all additions 11.5 % of it: salt is 1.4350 % of the total, meat 89.686 % (computed: 1.6 / 1.115,
 * 100 / 1.115). */
static void of_block_and_of_total(void **state)
{
    struct formula f = {.ingredient_count = 3};
    mass_pg targets[CAP_INGREDIENTS], total;
    int64_t micropercent;

    (void)state;
    f.ingredients[0] = (struct ingredient){.meat = true, .base = BASE_BLOCK, .share = {1, 1}};
    f.ingredients[1] = (struct ingredient){.base = BASE_MEAT, .share = share_in("1.6", 100)};
    f.ingredients[2] = (struct ingredient){.base = BASE_MEAT, .share = share_in("9.9", 100)};
    assert_int_equal(scale_formula(&f, mass("40 kg"), targets), FAIL_NONE);
    assert_int_equal(scale_total(&f, mass("40 kg"), targets, &total), FAIL_NONE);
    assert_int_equal(share_micropercent(targets[1], total, &micropercent), FAIL_NONE);
    assert_int_equal((micropercent + 50) / 100, 14350);
    assert_int_equal(share_micropercent(targets[0], total, &micropercent), FAIL_NONE);
    assert_int_equal((micropercent + 500) / 1000, 89686);
}

/* 9 CFR 319.140: water at most 3 % of total ingredients. With 45.000 kg of the others that is 1.3918 kg (computed:
 * 45 x 0.03 / 0.97), not 1.350. */
static void water_of_total(void **state)
{
    struct formula f = {.ingredient_count = 2};
    mass_pg targets[CAP_INGREDIENTS];

    (void)state;
    f.ingredients[0] = (struct ingredient){.meat = true, .base = BASE_BLOCK, .share = {1, 1}};
    f.ingredients[1] = (struct ingredient){.base = BASE_TOTAL, .share = share_in("3", 100)};
    assert_int_equal(scale_formula(&f, mass("45 kg"), targets), FAIL_NONE);
    assert_text(targets[1], UNIT_KG, 4, "1.3918");
}

static const struct ingredient *cure(const char *content, uint32_t over)
{
    static struct ingredient in;

    in = (struct ingredient){.content = share_in(content, over)};
    return &in;
}

static struct limit ounces_per_100_lb(const char *ounces)
{
    struct limit limit = {.base = BASE_MEAT};

    assert_int_equal(share_of_masses(mass(ounces), mass("100 lb"), &limit.share), FAIL_NONE);
    return limit;
}

/* 9 CFR 424.21(c): nitrite at most 1/4 oz per 100 lb of chopped meat. As FSIS Directive 7620.3 does it, on the meat block
 * and not on the total. */
static void nitrite_limit(void **state)
{
    struct limit limit = ounces_per_100_lb("0.25 oz"), flat = {.base = BASE_MEAT, .share = share_in("156", 1000000)};
    mass_pg most, nitrite;

    (void)state;
    assert_int_equal(ppm(part("100 lb", limit.share), mass("100 lb")), 15625);
    /* 6.25 % cure at 0.25 % of the meat, in each of the ways it is said: 156.25 ppm */
    nitrite = part("40 kg", share_in("0.25", 100)) / 16;
    assert_int_equal(ppm(nitrite, mass("40 kg")), 15625);
    assert_int_equal(ppm(mass("1 oz") / 16, mass("25 lb")), 15625);
    assert_int_equal(ppm(mass("4 oz") / 16, mass("100 lb")), 15625);
    assert_int_equal(ppm(mass("2.5 g") / 16, mass("1 kg")), 15625);
    /* 40.0 kg: 100.00 g of it under the rule; 99.84 g if it were read as a flat 156 ppm. The batch's 47 kg don't count. */
    assert_int_equal(limit_mass(cure("6.25", 100), &limit, mass("40 kg"), mass("47 kg"), &most), FAIL_NONE);
    assert_int_equal(most, mass("100 g"));
    assert_int_equal(limit_mass(cure("6.25", 100), &flat, mass("40 kg"), mass("47 kg"), &most), FAIL_NONE);
    assert_int_equal(most, mass("99.84 g"));
    assert_int_equal(ppm(mass("6.25 g"), mass("40 kg")), 15625);
    assert_int_equal(ppm(mass("6.25 g"), mass("47 kg")), 13298);
    /* 62 lb: 2.5 oz is 157.51 ppm, over; 2.48 oz = 70.31 g is the most */
    assert_int_equal(ppm(mass("2.5 oz") / 16, mass("62 lb")), 15751);
    assert_int_equal(limit_mass(cure("6.25", 100), &limit, mass("62 lb"), mass("62 lb"), &most), FAIL_NONE);
    assert_int_equal(most, mass("2.48 oz"));
    assert_text(most, UNIT_G, 2, "70.31");
    /* 30.000 kg with 82.0 g: 170.83 ppm; lawful only with 32.800 kg */
    assert_int_equal(ppm(mass("82 g") / 16, mass("30 kg")), 17083);
    assert_int_equal(limit_mass(cure("6.25", 100), &limit, mass("32.8 kg"), mass("33 kg"), &most), FAIL_NONE);
    assert_int_equal(most, mass("82 g"));
}

/* 9 CFR 424.21(c): erythorbate 7/8 oz, nitrate 2 3/4 oz per 100 lb of meat. */
static void other_limits(void **state)
{
    struct limit erythorbate = ounces_per_100_lb("0.875 oz"), nitrate = ounces_per_100_lb("2.75 oz");
    mass_pg most;

    (void)state;
    assert_int_equal(limit_mass(cure("100", 100), &erythorbate, mass("40 kg"), mass("47 kg"), &most), FAIL_NONE);
    assert_int_equal(most, mass("21.875 g"));
    assert_int_equal(ppm(mass("18 g"), mass("40 kg")), 45000);
    assert_int_equal(ppm(mass("22 g"), mass("40 kg")), 55000);
    assert_int_equal(limit_mass(cure("100", 100), &nitrate, mass("20 kg"), mass("20 kg"), &most), FAIL_NONE);
    assert_int_equal(most, mass("34.375 g"));
}

/* The usual dose lies exactly on its limit and must stay possible, in any meat block and on any division. */
static void cure_band(void **state)
{
    struct limit limit = ounces_per_100_lb("0.25 oz");
    struct band_spec spec = {{.given = true, .share = {2, 100}}, {.given = true, .share = {2, 100}}};
    struct band band;
    mass_pg most;

    (void)state;
    assert_int_equal(limit_mass(cure("6.25", 100), &limit, mass("40 kg"), mass("47 kg"), &most), FAIL_NONE);
    assert_int_equal(band_make(part("40 kg", share_in("0.25", 100)), &spec, mass("0.01 g"), most, &band), FAIL_NONE);
    assert_int_equal(band.target, mass("100 g"));
    assert_int_equal(band.low, mass("98 g"));
    assert_int_equal(band.high, mass("100 g"));
    assert_int_equal(band_judge(&band, mass("100 g")), VERDICT_IN);
    assert_int_equal(band_judge(&band, mass("100.01 g")), VERDICT_OVER);
}

/* Common practice, no source: both ends count, readings are multiples of d. 480 g +/- 1 % on d = 2 g: 476 to 484 g.
 * 75 g +/- 2 % on d = 5 g: only 75 g shows. */
static void bands(void **state)
{
    struct band_spec one = {{.given = true, .share = {1, 100}}, {.given = true, .share = {1, 100}}},
                     two = {{.given = true, .share = {2, 100}}, {.given = true, .share = {2, 100}}};
    struct band band;

    (void)state;
    assert_int_equal(band_make(mass("480 g"), &one, mass("2 g"), -1, &band), FAIL_NONE);
    assert_int_equal(band.low, mass("476 g"));
    assert_int_equal(band.high, mass("484 g"));
    assert_int_equal(band_make(mass("75 g"), &two, mass("5 g"), -1, &band), FAIL_NONE);
    assert_int_equal(band.low, mass("75 g"));
    assert_int_equal(band.high, mass("75 g"));
}

/* NIST Handbook 44 G-S.5.2.2 (from memory): digital values round to the nearest displayed unit. Canada's published example
 * LG-8.01: 45 006 kg on a division of 10 kg shows 45 010, 20 004 shows 20 000; here on a tenth of it, within reach. */
static void nearest_division(void **state)
{
    mass_pg m;

    (void)state;
    assert_int_equal(mass_to_division(mass("4500.6 kg"), mass("1 kg"), ROUND_HALF_EVEN, &m), FAIL_NONE);
    assert_int_equal(m, mass("4501 kg"));
    assert_int_equal(mass_to_division(mass("2000.4 kg"), mass("1 kg"), ROUND_HALF_EVEN, &m), FAIL_NONE);
    assert_int_equal(m, mass("2000 kg"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inclusions),     cmocka_unit_test(seasoning_bag), cmocka_unit_test(of_block_and_of_total),
        cmocka_unit_test(water_of_total), cmocka_unit_test(nitrite_limit), cmocka_unit_test(other_limits),
        cmocka_unit_test(cure_band),      cmocka_unit_test(bands),         cmocka_unit_test(nearest_division),
    };
    return cmocka_run_group_tests_name("published trade", tests, NULL, NULL);
}
