/* Fitness of scales: which one takes a weighing, in how many portions, or that none does. */
#include "core/seq_internal.h"

uint8_t seq_largest_scale(const struct setup *setup)
{
    uint8_t best = 0;
    for (uint8_t k = 1; k < setup->scale_count; k++)
        if (setup->scales[k].capacity > setup->scales[best].capacity)
            best = k;
    return best;
}

/* What is left for the content when the container is on: a known container's weight is known, any other may take a fifth
 * of a small scale. */
static mass_pg holds(const struct setup *setup, const struct scale_setup *sc, uint8_t ingredient)
{
    mass_pg fifth = sc->capacity / 5, cup = setup->container_max < fifth ? setup->container_max : fifth;
    if (ingredient != NO_INGREDIENT && setup->cup_empty && setup->cup_empty[ingredient] > 0)
        cup = setup->cup_empty[ingredient];
    return sc->capacity - cup;
}

/* A side that is not given adds nothing: it allows nothing. */
static mass_pg band_width(const struct band_spec *spec, mass_pg target)
{
    mass_pg width = 0, part = 0;
    const struct band_side *sides[2] = {&spec->under, &spec->over};
    for (unsigned k = 0; k < 2; k++) {
        if (!sides[k]->given)
            continue;
        if (sides[k]->is_mass)
            width += sides[k]->mass;
        else if (!share_of(target, sides[k]->share, ROUND_DOWN, &part))
            width += part;
    }
    return width;
}

enum fit scale_fit(const struct setup *setup, uint8_t scale, uint8_t ingredient, mass_pg target)
{
    const struct scale_setup *sc = &setup->scales[scale];
    if (target > holds(setup, sc, ingredient))
        return FIT_HEAVY;
    if (target < sc->min_load)
        return FIT_LIGHT;
    return band_width(&setup->formula->ingredients[ingredient].band, target) < sc->division ? FIT_COARSE : FIT_GOOD;
}

/* Fit, and the band has room below the limit. */
bool seq_fits(const struct setup *setup, uint8_t scale, const struct portion *p)
{
    const struct ingredient *in = &setup->formula->ingredients[p->ingredient];
    struct band band;
    return scale_fit(setup, scale, p->ingredient, p->target) == FIT_GOOD &&
           band_make(p->target, &in->band, setup->scales[scale].division, p->limit, &band) == FAIL_NONE;
}

static bool finer(const struct setup *setup, uint8_t scale, uint8_t than)
{
    return than == NO_SCALE || setup->scales[scale].division < setup->scales[than].division;
}

/* The finest of those that fit. */
uint8_t seq_pick_scale(const struct setup *setup, const struct portion *p)
{
    uint8_t best = NO_SCALE;
    for (uint8_t k = 0; k < setup->scale_count; k++)
        if (seq_fits(setup, k, p) && finer(setup, k, best))
            best = k;
    return best;
}

/* Where none fits: the finest that can bear it, so that the weighing, which then wants a reason, is at least a close one. */
uint8_t seq_least_bad_scale(const struct setup *setup, const struct portion *p)
{
    uint8_t best = seq_largest_scale(setup);
    for (uint8_t k = 0; k < setup->scale_count; k++)
        if (p->target <= holds(setup, &setup->scales[k], p->ingredient) && finer(setup, k, best))
            best = k;
    return best;
}

/* As few as the largest scale allows. */
uint16_t seq_portions_of(const struct setup *setup, uint8_t ingredient, mass_pg target)
{
    mass_pg most = holds(setup, &setup->scales[seq_largest_scale(setup)], ingredient);
    if (most <= 0 || target <= most)
        return 1;
    mass_pg n = (target + most - 1) / most;
    return n > CAP_ITEMS ? CAP_ITEMS : (uint16_t)n;
}

/* Meat comes in lugs, and the common tub is one. */
static bool has_portions(const struct ingredient *in)
{
    return !in->meat && in->way != WAY_TUB;
}

uint16_t seq_portions(const struct sequence *s, mass_pg basis)
{
    const struct formula *f = s->setup->formula;
    mass_pg targets[CAP_INGREDIENTS];
    uint16_t more = 0;
    if (scale_formula(f, basis, targets))
        return 0;
    for (uint8_t i = 0; i < f->ingredient_count; i++)
        if (has_portions(&f->ingredients[i]))
            more = (uint16_t)(more + seq_portions_of(s->setup, i, targets[i]) - 1);
    return more;
}

uint8_t sequence_unfit(const struct sequence *s, mass_pg basis)
{
    const struct formula *f = s->setup->formula;
    mass_pg targets[CAP_INGREDIENTS];
    if (scale_formula(f, basis, targets))
        return f->ingredient_count;
    for (uint8_t i = 0; i < f->ingredient_count; i++) {
        mass_pg n = seq_portions_of(s->setup, i, targets[i]);
        mass_pg limit = seq_lawful_mass(s->setup, i, basis, targets);
        const struct portion p = {i, targets[i] / n, limit / n};
        if (limit >= 0 && seq_pick_scale(s->setup, &p) == NO_SCALE)
            return i;
    }
    return NO_INGREDIENT;
}

/* The finest one that holds the whole tub: it is not moved from scale to scale. */
uint8_t seq_tub_scale(const struct setup *setup, const mass_pg *targets)
{
    const struct formula *f = setup->formula;
    mass_pg sum = 0;
    uint8_t best = seq_largest_scale(setup);
    for (uint8_t i = 0; i < f->ingredient_count; i++)
        if (!f->ingredients[i].meat && f->ingredients[i].way == WAY_TUB)
            (void)add64(sum, targets[i], &sum);
    for (uint8_t k = 0; k < setup->scale_count; k++)
        if (sum <= holds(setup, &setup->scales[k], NO_INGREDIENT) && finer(setup, k, best))
            best = k;
    return best;
}
