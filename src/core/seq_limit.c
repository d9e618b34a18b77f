/* Limits of regulated ingredients: what may still lawfully go in, and for how much meat. */
#include "core/seq_internal.h"

bool seq_is_regulated(const struct setup *setup, uint8_t ingredient)
{
    return setup->limits && setup->limits[ingredient].share.den != 0;
}

mass_pg seq_lawful_mass(const struct setup *setup, uint8_t i, mass_pg meat, const mass_pg *targets)
{
    mass_pg total = 0, out = 0;
    if (!seq_is_regulated(setup, i))
        return -1;
    if (scale_total(setup->formula, meat, targets, &total) ||
        limit_mass(&setup->formula->ingredients[i], &setup->limits[i], meat, total, &out))
        return 0; /* can't be worked out: nothing of it is lawful */
    return out;
}

/* The meat that limits are taken on: the basis, but of a planned batch no more than was weighed once all of it is. */
static mass_pg lawful_meat(const struct sequence *s)
{
    if (s->setup->basis != BASIS_PLANNED)
        return s->basis;
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].kind == ITEM_MEAT && !seq_finished(&s->items[k]))
            return s->basis;
    mass_pg meat = seq_meat_net(s);
    return meat < s->basis ? meat : s->basis;
}

/* What its other portions took already is no longer left of the limit. */
bool seq_lawful(const struct sequence *s, const struct item *it, mass_pg *most)
{
    mass_pg targets[CAP_INGREDIENTS];
    if (!seq_is_regulated(s->setup, it->ingredient) || s->basis <= 0 ||
        scale_formula(s->setup->formula, s->basis, targets))
        return false;
    *most = seq_lawful_mass(s->setup, it->ingredient, lawful_meat(s), targets);
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *other = &s->items[k];
        bool in = other->status >= ITEM_WEIGHED && other->status <= ITEM_IN_MIXER;
        if (other != it && in && other->ingredient == it->ingredient)
            *most -= other->net;
    }
    return true;
}

uint8_t seq_above_limit(const struct sequence *s)
{
    mass_pg most;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *it = &s->items[k];
        bool in = it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER;
        if (in && seq_lawful(s, it, &most) && it->net > most)
            return it->ingredient;
    }
    return NO_INGREDIENT;
}

/* Planned, and the meat came out short: what is not weighed yet must not go above the limit of what there is. */
void seq_lower_to_limit(struct sequence *s)
{
    mass_pg most;
    for (uint16_t k = 0; k < s->item_count; k++) {
        struct item *it = &s->items[k];
        if (it->kind != ITEM_WEIGH || it->status > ITEM_TARED || !seq_lawful(s, it, &most))
            continue;
        (void)mass_to_division(most > 0 ? most : 0, s->setup->scales[it->scale].division, ROUND_DOWN, &most);
        it->high = it->high < most ? it->high : most;
        it->target = it->target < it->high ? it->target : it->high;
        it->low = it->low < it->target ? it->low : it->target;
    }
}
