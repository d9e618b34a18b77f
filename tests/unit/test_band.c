/* core/band.c: edges on the division, the limit of a regulated ingredient, both ends counted. */
#include "core_test.h"

#include "core/band.h"

#define G PG_PER_G
#define MG PG_PER_MG
#define NO_LIMIT (-1)

static struct band_side percent(uint32_t num)
{
    return (struct band_side){.given = true, .share = {num, 100}};
}

static struct band_side by_mass(mass_pg mass)
{
    return (struct band_side){.given = true, .is_mass = true, .mass = mass};
}

static void assert_band(mass_pg exact, struct band_side under, struct band_side over, mass_pg division, mass_pg limit,
                        struct band want)
{
    struct band_spec spec = {under, over};
    struct band got;

    assert_int_equal(band_make(exact, &spec, division, limit, &got), FAIL_NONE);
    assert_int_equal(got.target, want.target);
    assert_int_equal(got.low, want.low);
    assert_int_equal(got.high, want.high);
}

static void edges_lie_on_the_division(void **state)
{
    struct band_side none = {0};

    (void)state;
    assert_band(480 * G, percent(1), percent(1), 2 * G, NO_LIMIT, (struct band){480 * G, 476 * G, 484 * G});
    assert_band(481 * G, percent(1), percent(2), 2 * G, NO_LIMIT, (struct band){480 * G, 478 * G, 490 * G});
    assert_band(483 * G, none, none, 2 * G, NO_LIMIT, (struct band){484 * G, 484 * G, 484 * G});
    assert_band(480 * G, by_mass(5 * G), none, 2 * G, NO_LIMIT, (struct band){480 * G, 476 * G, 480 * G});
    assert_band(480 * G, none, by_mass(5 * G), 2 * G, NO_LIMIT, (struct band){480 * G, 480 * G, 484 * G});
    assert_band(480 * G, by_mass(500 * G), none, 2 * G, NO_LIMIT, (struct band){480 * G, 0, 480 * G});
    /* too narrow to hold the rounded target: widened to it, on whichever side */
    assert_band(473 * G, by_mass(0), by_mass(0), 5 * G, NO_LIMIT, (struct band){475 * G, 475 * G, 475 * G});
    assert_band(472 * G, by_mass(0), by_mass(0), 5 * G, NO_LIMIT, (struct band){470 * G, 470 * G, 470 * G});
    /* half of it is 500.5: never wider than asked for */
    assert_band(1001, percent(50), percent(50), 1, NO_LIMIT, (struct band){1001, 501, 1501});
    assert_band(0, percent(1), percent(1), 5 * G, NO_LIMIT, (struct band){0, 0, 0});
}

static void a_limit_is_never_passed(void **state)
{
    struct band_side none = {0};

    (void)state;
    /* the target is rounded down, not to the nearest */
    assert_band(99990 * MG, none, none, 20 * MG, 100 * G, (struct band){99980 * MG, 99980 * MG, 99980 * MG});
    /* the upper edge is its band or the limit rounded down, whichever is less */
    assert_band(90 * G, percent(2), percent(2), 2 * G, 100 * G, (struct band){90 * G, 90 * G, 90 * G});
    assert_band(90 * G, percent(5), percent(5), 2 * G, 93 * G, (struct band){90 * G, 86 * G, 92 * G});
    assert_band(100 * G, percent(5), percent(5), 2 * G, 100 * G, (struct band){100 * G, 96 * G, 100 * G});
    assert_band(100 * G, percent(5), percent(5), 2 * G, INT64_MAX, (struct band){100 * G, 96 * G, 104 * G});
    assert_band(0, none, none, 2 * G, 0, (struct band){0, 0, 0});
}

/* A cure is dosed at its limit, and the meat weighs what it weighs: rounded to the nearest, the target would lie above the
 * limit in about half of all batches; with the upper edge cut to the limit no reading would be left in those. */
static void the_usual_dose_on_its_limit_is_always_possible(void **state)
{
    struct band_spec spec = {percent(2), percent(2)};
    struct share dose = {1, 400}; /* 2.5 g per kg */
    unsigned above = 0;

    (void)state;
    for (mass_pg meat = 38 * PG_PER_KG; meat <= 42 * PG_PER_KG; meat += 5 * G) {
        mass_pg limit, nearest;
        struct band band;

        assert_int_equal(share_of(meat, dose, ROUND_DOWN, &limit), FAIL_NONE);
        assert_int_equal(band_make(limit, &spec, 10 * MG, limit, &band), FAIL_NONE);
        assert_true(band.high <= limit && limit - band.target < 10 * MG && band.low < band.target);
        assert_int_equal(band.high % (10 * MG), 0);
        assert_int_equal(mass_to_division(limit, 10 * MG, ROUND_HALF_EVEN, &nearest), FAIL_NONE);
        above += nearest > limit;
    }
    assert_in_range(above, 801 / 4, 801 / 2);
}

static void refuses(void **state)
{
    struct band_spec none = {0}, narrow = {percent(1), percent(1)}, wrong = {by_mass(-1), by_mass(0)},
                     wrong_over = {by_mass(0), by_mass(-1)}, wide = {by_mass(0), by_mass(INT64_MAX)},
                     empty = {{.given = true}, {.given = true}};
    struct band got = {-7, -7, -7};

    (void)state;
    assert_int_equal(band_make(100 * G, &none, 2 * G, 99 * G, &got), FAIL_RANGE); /* the limit leaves no room */
    assert_int_equal(band_make(100 * G, &none, 2 * G, 0, &got), FAIL_RANGE);
    assert_int_equal(band_make(3 * G, &narrow, 5 * G, 4 * G, &got), FAIL_RANGE); /* would be "nothing" */
    assert_int_equal(band_make(2 * G, &none, 5 * G, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(-1, &none, 5 * G, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(100 * G, &none, 0, NO_LIMIT, &got), FAIL_ZERO);
    assert_int_equal(band_make(100 * G, &none, -1, NO_LIMIT, &got), FAIL_ZERO);
    assert_int_equal(band_make(100 * G, &wrong, 2 * G, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(100 * G, &wrong_over, 2 * G, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(100 * G, &wide, 2 * G, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(INT64_MAX, &none, 1000, NO_LIMIT, &got), FAIL_RANGE);
    assert_int_equal(band_make(100 * G, &empty, 2 * G, NO_LIMIT, &got), FAIL_ZERO);
    assert_int_equal(got.target, -7);
    assert_int_equal(got.low, -7);
    assert_int_equal(got.high, -7);
}

static void both_ends_count(void **state)
{
    struct band band = {480, 476, 484};

    (void)state;
    assert_int_equal(band_judge(&band, 475), VERDICT_UNDER);
    assert_int_equal(band_judge(&band, 476), VERDICT_IN);
    assert_int_equal(band_judge(&band, 480), VERDICT_IN);
    assert_int_equal(band_judge(&band, 484), VERDICT_IN);
    assert_int_equal(band_judge(&band, 485), VERDICT_OVER);
    assert_int_equal(band_judge(&band, -480), VERDICT_UNDER);
}

/* Whatever goes in: low <= target <= high, all on the division, and all that a band allows is inside what was asked for
 * unless only the target itself is left. */
static void holds_for_any_masses(void **state)
{
    uint64_t seed = 12;

    (void)state;
    for (int i = 0; i < 40000; i++) {
        mass_pg exact = (mass_pg)chance_bits(&seed, 55), division = 1 + (mass_pg)chance_bits(&seed, 45);
        mass_pg limit =
            chance(&seed) & 1 ? NO_LIMIT : exact + (mass_pg)chance_bits(&seed, 50) - (mass_pg)chance_bits(&seed, 50);
        struct band_spec spec = {percent((uint32_t)chance_below(&seed, 100)), by_mass((mass_pg)chance_bits(&seed, 50))};
        struct band b;
        mass_pg reach;

        if (band_make(exact, &spec, division, limit, &b) != FAIL_NONE)
            continue;
        assert_true(b.low <= b.target && b.target <= b.high);
        assert_true(b.low % division == 0 && b.target % division == 0 && b.high % division == 0);
        assert_true(limit < 0 || b.high <= limit);
        assert_true(b.high == b.target || b.high <= exact + spec.over.mass);
        assert_int_equal(share_of(exact, spec.under.share, ROUND_UP, &reach), FAIL_NONE);
        assert_true(b.low == b.target || b.low >= exact - reach);
    }
}

/* Where taking out leads: never onto the upper edge while there is room below it. */
static void taking_out_leads_inside(void **state)
{
    (void)state;
    const struct band wide = {300 * G, 297 * G, 303 * G}, cure = {62500 * MG, 62000 * MG, 62500 * MG},
                      coarse = {180 * G, 175 * G, 185 * G}, none = {20 * G, 20 * G, 20 * G},
                      lopsided = {6 * G, 0, 9 * G};
    assert_int_equal(band_inside(&wide, 10 * MG), 300 * G);
    assert_int_equal(band_inside(&cure, 10 * MG), 62480 * MG);
    assert_int_equal(band_inside(&coarse, 5 * G), 180 * G);
    assert_int_equal(band_inside(&none, 5 * G), 20 * G);
    assert_int_equal(band_inside(&lopsided, 2 * G), 5 * G);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(taking_out_leads_inside),
        cmocka_unit_test(edges_lie_on_the_division),
        cmocka_unit_test(a_limit_is_never_passed),
        cmocka_unit_test(the_usual_dose_on_its_limit_is_always_possible),
        cmocka_unit_test(refuses),
        cmocka_unit_test(both_ends_count),
        cmocka_unit_test(holds_for_any_masses),
    };
    return cmocka_run_group_tests_name("band", tests, NULL, NULL);
}
