/* Scaling: see scaling.h. Each target is rounded once, from the exact share; sums are made of what was rounded. */
#include "core/scaling.h"

/* Planned shares of the block; the last meat takes what rounding left, so that they sum to the basis. */
static enum fail scale_meats(const struct formula *f, mass_pg meat, mass_pg *targets)
{
    unsigned last = f->ingredient_count;
    mass_pg rest = meat;
    enum fail fail;

    for (unsigned i = 0; i < f->ingredient_count; i++)
        if (f->ingredients[i].meat)
            last = i;
    for (unsigned i = 0; i < last; i++) {
        if (!f->ingredients[i].meat)
            continue;
        fail = share_of(meat, f->ingredients[i].share, ROUND_HALF_EVEN, &targets[i]);
        if (fail)
            return fail;
        rest -= targets[i]; /* no wrap: both lie between 0 and INT64_MAX, and rest stops at its first negative */
        if (rest < 0)
            return FAIL_RANGE;
    }
    if (last < f->ingredient_count)
        targets[last] = rest;
    return FAIL_NONE;
}

/* Shares of the meat block; *base: the block and all of them. */
static enum fail scale_by_meat(const struct formula *f, mass_pg meat, mass_pg *targets, mass_pg *base)
{
    enum fail fail = FAIL_NONE;

    *base = meat;
    for (unsigned i = 0; i < f->ingredient_count && !fail; i++) {
        const struct ingredient *in = &f->ingredients[i];

        if (in->meat || in->base != BASE_MEAT)
            continue;
        fail = share_of(meat, in->share, ROUND_HALF_EVEN, &targets[i]);
        if (!fail)
            fail = add64(*base, targets[i], base);
    }
    return fail;
}

static bool is_of_total(const struct ingredient *in)
{
    return !in->meat && in->base == BASE_TOTAL;
}

/* The smallest denominator that all shares of the total have in common, below 2^62 (decimals of a percent with at most
 * six places: never above 10^8), and the sum of their numerators over it. */
static enum fail sum_of_totals(const struct formula *f, uint64_t *den, uint64_t *sum)
{
    struct share step;

    *den = 1;
    *sum = 0;
    for (unsigned i = 0; i < f->ingredient_count; i++) {
        const struct share *share = &f->ingredients[i].share;

        if (!is_of_total(&f->ingredients[i]))
            continue;
        if (share->den == 0)
            return FAIL_ZERO;
        if (share->num >= share->den)
            return FAIL_RANGE;
        if (share_make(*den % share->den, share->den, &step)) /* reduced den: what *den still lacks */
            return FAIL_RANGE;
        if (*den > (UINT64_C(1) << 62) / step.den)
            return FAIL_RANGE;
        *den *= step.den;
        *sum = *sum * step.den + *den / share->den * share->num; /* each addend is below *den, so below 2^62 */
        if (*sum >= *den)
            return FAIL_RANGE;
    }
    return FAIL_NONE;
}

static enum fail scale_by_total(const struct formula *f, mass_pg base, mass_pg *targets)
{
    uint64_t den, sum;
    enum fail fail = sum_of_totals(f, &den, &sum);

    for (unsigned i = 0; i < f->ingredient_count && !fail; i++) {
        const struct ingredient *in = &f->ingredients[i];

        /* total = base * den / (den - sum), and the part is total * num / own den: den cancels, one rounding. */
        if (is_of_total(in))
            fail = muldiv(base, den / in->share.den * in->share.num, den - sum, ROUND_HALF_EVEN, &targets[i]);
    }
    return fail;
}

enum fail scale_formula(const struct formula *f, mass_pg meat, mass_pg targets[CAP_INGREDIENTS])
{
    mass_pg base;
    enum fail fail;

    if (meat <= 0)
        return FAIL_RANGE;
    fail = scale_meats(f, meat, targets);
    if (!fail)
        fail = scale_by_meat(f, meat, targets, &base);
    if (!fail)
        fail = scale_by_total(f, base, targets);
    return fail;
}

enum fail scale_total(const struct formula *f, mass_pg meat, const mass_pg targets[CAP_INGREDIENTS], mass_pg *total)
{
    enum fail fail = FAIL_NONE;
    mass_pg sum = meat;

    for (unsigned i = 0; i < f->ingredient_count && !fail; i++)
        if (!f->ingredients[i].meat)
            fail = add64(sum, targets[i], &sum);
    if (!fail)
        *total = sum;
    return fail;
}

enum fail limit_mass(const struct ingredient *in, const struct limit *limit, mass_pg meat, mass_pg total, mass_pg *out)
{
    return share_of_ratio(limit->base == BASE_TOTAL ? total : meat, limit->share, in->content, ROUND_DOWN, out);
}
