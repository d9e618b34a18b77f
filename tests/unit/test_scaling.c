/* core/scaling.c: targets from the meat basis. */
#include "core_test.h"

#include <gmp.h>

#include "core/scaling.h"

#define G PG_PER_G
#define KG PG_PER_KG

static struct formula f;
static mass_pg targets[CAP_INGREDIENTS];

static void begin(void)
{
    memset(&f, 0, sizeof f);
    for (unsigned i = 0; i < CAP_INGREDIENTS; i++) /* what stands behind the last one is not looked at */
        f.ingredients[i] = (struct ingredient){.base = BASE_TOTAL, .share = {9, 10}};
    memset(targets, 0x55, sizeof targets);
}

static unsigned add(uint8_t base, uint32_t num, uint32_t den)
{
    f.ingredients[f.ingredient_count] =
        (struct ingredient){.base = base, .meat = base == BASE_BLOCK, .share = {num, den}};
    return f.ingredient_count++;
}

static void by_meat_and_by_total(void **state)
{
    unsigned meat, salt, water, spice;
    mass_pg total;

    (void)state;
    begin();
    meat = add(BASE_BLOCK, 1, 1);
    salt = add(BASE_MEAT, 16, 1000);
    water = add(BASE_TOTAL, 3, 100);
    spice = add(BASE_TOTAL, 5, 1000);
    assert_int_equal(scale_formula(&f, 40 * KG, targets), FAIL_NONE);
    assert_int_equal(targets[meat], 40 * KG);
    assert_int_equal(targets[salt], 640 * G);
    /* 40.64 kg are 96.5 % of the total */
    assert_int_equal(targets[water], INT64_C(1263419689119171));
    assert_int_equal(targets[spice], INT64_C(210569948186528));
    assert_int_equal(scale_total(&f, 40 * KG, targets, &total), FAIL_NONE);
    assert_int_equal(total, 40640 * G + targets[water] + targets[spice]);
}

static void meats_sum_to_the_basis(void **state)
{
    uint64_t seed = 3;

    (void)state;
    for (int i = 0; i < 5000; i++) {
        uint32_t first = 1 + (uint32_t)chance_below(&seed, 3000), second = 1 + (uint32_t)chance_below(&seed, 3000),
                 third = 1 + (uint32_t)chance_below(&seed, 3000), all = first + second + third;
        mass_pg meat = 1 + (mass_pg)chance_bits(&seed, 62), part;

        begin();
        add(BASE_BLOCK, first, all);
        add(BASE_MEAT, 1, 1000);
        add(BASE_BLOCK, second, all);
        add(BASE_BLOCK, third, all);
        add(BASE_MEAT, 1, 100);
        if (scale_formula(&f, meat, targets) != FAIL_NONE) {
            assert_true(meat < 100); /* nothing is left for the last of a few picograms */
            continue;
        }
        assert_int_equal(targets[0] + targets[2] + targets[3], meat);
        assert_int_equal(share_of(meat, f.ingredients[3].share, ROUND_HALF_EVEN, &part), FAIL_NONE);
        assert_in_range(targets[3] - part + 2, 0, 4);
    }
}

static void one_meat_needs_no_share(void **state)
{
    (void)state;
    begin();
    add(BASE_BLOCK, 0, 0);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_NONE);
    assert_int_equal(targets[0], KG);
}

static void totals_agree_with_gmp(void **state)
{
    uint64_t seed = 4;

    (void)state;
    for (int i = 0; i < 3000; i++) {
        unsigned count = 1 + (unsigned)chance_below(&seed, 8);
        mass_pg meat = 1 + (mass_pg)chance_bits(&seed, 58);
        mpq_t rest, part;
        mpz_t twice;

        begin();
        mpq_inits(rest, part, NULL);
        mpz_init(twice);
        mpq_set_ui(rest, 1, 1);
        add(BASE_BLOCK, 1, 1);
        for (unsigned k = 0; k < count; k++) { /* percents with six decimals, below 10 % each */
            struct share s;
            assert_int_equal(share_make(chance_below(&seed, 10000000), 100000000, &s), FAIL_NONE);
            add(BASE_TOTAL, s.num, s.den);
            mpq_set_ui(part, s.num, s.den);
            mpq_canonicalize(part);
            mpq_sub(rest, rest, part);
        }
        assert_int_equal(scale_formula(&f, meat, targets), FAIL_NONE);
        for (unsigned k = 1; k <= count; k++) { /* within half a picogram of meat * share / rest */
            mpq_set_ui(part, f.ingredients[k].share.num, f.ingredients[k].share.den);
            mpq_canonicalize(part);
            mpq_div(part, part, rest);
            mpz_mul_si(mpq_numref(part), mpq_numref(part), meat);
            mpz_mul_si(twice, mpq_denref(part), targets[k]);
            mpz_sub(twice, mpq_numref(part), twice);
            mpz_mul_ui(twice, twice, 2);
            assert_true(mpz_cmpabs(twice, mpq_denref(part)) <= 0);
        }
        mpq_clears(rest, part, NULL);
        mpz_clear(twice);
    }
}

static void unlike_denominators(void **state)
{
    mass_pg total;

    (void)state;
    begin();
    add(BASE_TOTAL, 1, 3);
    add(BASE_TOTAL, 1, 4);
    add(BASE_TOTAL, 1, 6);
    assert_int_equal(scale_formula(&f, 300, targets), FAIL_NONE); /* 1 - 3/4: the meat is a quarter */
    assert_int_equal(targets[0], 400);
    assert_int_equal(targets[1], 300);
    assert_int_equal(targets[2], 200);
    assert_int_equal(scale_total(&f, 300, targets, &total), FAIL_NONE);
    assert_int_equal(total, 1200);
}

static void refuses(void **state)
{
    mass_pg total = -7;

    (void)state;
    begin();
    assert_int_equal(scale_formula(&f, 0, targets), FAIL_RANGE);
    assert_int_equal(scale_formula(&f, -1, targets), FAIL_RANGE);
    assert_int_equal(scale_formula(&f, 1, targets), FAIL_NONE); /* no ingredient: nothing to scale */

    add(BASE_TOTAL, 1, 2);
    add(BASE_TOTAL, 1, 2);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_RANGE); /* 100 % without the meat */
    f.ingredients[1].share = (struct share){3, 2};
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_RANGE);
    f.ingredients[1].share = (struct share){0, 0};
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_ZERO);
    f.ingredients[1].share = (struct share){1, UINT32_MAX}; /* not a share */
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_RANGE);

    begin();
    add(BASE_TOTAL, 1, 2147483647);
    add(BASE_TOTAL, 1, 2147483629);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_NONE);
    add(BASE_TOTAL, 1, 2147483587);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_RANGE); /* no common denominator below 2^62 */

    begin();
    add(BASE_MEAT, 0, 0);
    add(BASE_MEAT, 1, 2); /* a good one behind it mends nothing */
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_ZERO);

    begin();
    add(BASE_TOTAL, 99, 100); /* a hundred times the meat: the first share does not fit, the second would */
    add(BASE_TOTAL, 0, 1);
    assert_int_equal(scale_formula(&f, INT64_MAX / 2, targets), FAIL_RANGE);

    begin();
    add(BASE_MEAT, 0, 0);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_ZERO);
    f.ingredients[0].share = (struct share){2, 1};
    assert_int_equal(scale_formula(&f, INT64_MAX, targets), FAIL_RANGE);
    f.ingredients[0].share = (struct share){1, 1};
    assert_int_equal(scale_formula(&f, INT64_MAX, targets), FAIL_RANGE); /* each fits, their sum does not */
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_NONE);
    assert_int_equal(scale_total(&f, INT64_MAX, targets, &total), FAIL_RANGE);
    assert_int_equal(total, -7);

    begin();
    add(BASE_BLOCK, 0, 0);
    add(BASE_BLOCK, 1, 1);
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_ZERO);
    f.ingredients[0].share = (struct share){3, 2}; /* more than the block */
    assert_int_equal(scale_formula(&f, KG, targets), FAIL_RANGE);
}

static void limits(void **state)
{
    struct ingredient cure = {.content = {1, 16}};
    struct limit limit = {.base = BASE_MEAT, .share = {1, 6400}};
    mass_pg got = -7;

    (void)state;
    assert_int_equal(limit_mass(&cure, &limit, 40 * KG, 47 * KG, &got), FAIL_NONE);
    assert_int_equal(got, 100 * G);
    limit.base = BASE_TOTAL;
    assert_int_equal(limit_mass(&cure, &limit, 40 * KG, 48 * KG, &got), FAIL_NONE);
    assert_int_equal(got, 120 * G);
    assert_int_equal(limit_mass(&cure, &limit, 40 * KG, 3, &got), FAIL_NONE);
    assert_int_equal(got, 0); /* down, never up */
    cure.content = (struct share){0, 0};
    assert_int_equal(limit_mass(&cure, &limit, 40 * KG, 47 * KG, &got), FAIL_ZERO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_meat_and_by_total),
        cmocka_unit_test(meats_sum_to_the_basis),
        cmocka_unit_test(one_meat_needs_no_share),
        cmocka_unit_test(totals_agree_with_gmp),
        cmocka_unit_test(unlike_denominators),
        cmocka_unit_test(refuses),
        cmocka_unit_test(limits),
    };
    return cmocka_run_group_tests_name("scaling", tests, NULL, NULL);
}
