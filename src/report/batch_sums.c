/* Adding up: what went in, in parts of the meat and of the whole, and the level of each regulated substance. */
#include <string.h>

#include "report/batch.h"

/* A sum that can't be held makes all sums worthless, not the weights: the report then leaves the sums out. */
static void plus(struct batch_report *b, mass_pg *sum, mass_pg mass)
{
    if (add64(*sum, mass, sum) != FAIL_NONE)
        b->beyond = true;
}

/* In millionths of a percent, which are hundredths of a ppm; 0 of nothing. */
static int64_t part(mass_pg mass, mass_pg whole)
{
    int64_t out = 0;
    return whole > 0 && share_micropercent(mass, whole, &out) == FAIL_NONE ? out : 0;
}

static void add_lines(struct batch_report *b)
{
    for (unsigned k = 0; k < b->line_count; k++) {
        const struct batch_line *line = &b->lines[k];
        if (line->discarded_us)
            continue;
        plus(b, &b->total, line->r.net);
        /* what the formula does not name went in all the same */
        if (line->index == NO_INGREDIENT)
            continue;
        struct batch_sum *sum = &b->sums[line->index];
        sum->any = true;
        plus(b, &sum->actual, line->r.net);
        if (b->formula.ingredients[line->index].meat)
            plus(b, &b->meat, line->r.net);
    }
}

/* Anew from the formula and the basis, exactly: what the entries carry is rounded to each scale's division. */
static void set_targets(struct batch_report *b)
{
    mass_pg targets[CAP_INGREDIENTS];
    bool known = b->has_basis || b->basis != BASIS_WEIGHED;
    if (!known || b->basis_mass <= 0 || scale_formula(&b->formula, b->basis_mass, targets) != FAIL_NONE)
        return;
    for (uint8_t k = 0; k < b->formula.ingredient_count; k++) {
        b->sums[k].has_target = true;
        b->sums[k].target = targets[k];
    }
}

static struct batch_substance *substance_of(struct batch_report *b, const char *key)
{
    for (unsigned k = 0; k < b->substance_count; k++)
        if (!strcmp(b->substances[k].key, key))
            return &b->substances[k];
    struct batch_substance *sub = &b->substances[b->substance_count++];
    memcpy(sub->key, key, sizeof sub->key);
    return sub;
}

static void add_substances(struct batch_report *b)
{
    for (uint8_t k = 0; k < b->formula.ingredient_count; k++) {
        const struct ingredient *in = &b->formula.ingredients[k];
        const struct limit *limit = &b->limits[k];
        mass_pg mass = 0;
        if (!in->substance[0])
            continue;
        struct batch_substance *sub = substance_of(b, in->substance);
        if (share_of(b->sums[k].actual, in->content, ROUND_DOWN, &mass) == FAIL_NONE)
            plus(b, &sub->mass, mass);
        if (!limit->share.den || sub->has_limit)
            continue;
        sub->has_limit = true;
        sub->base = limit->base;
        sub->limit = part(limit->share.num, limit->share.den);
        memcpy(sub->source, limit->source, sizeof sub->source);
    }
}

/* Judged on the exact masses, never on the rounded level. */
static void judge_substances(struct batch_report *b)
{
    for (unsigned k = 0; k < b->substance_count; k++) {
        struct batch_substance *sub = &b->substances[k];
        mass_pg most = 0;
        sub->base_mass = sub->base == BASE_TOTAL ? b->total : b->meat;
        sub->level = part(sub->mass, sub->base_mass);
        for (uint8_t i = 0; i < b->formula.ingredient_count && sub->has_limit; i++) {
            bool its = !strcmp(b->formula.ingredients[i].substance, sub->key) && b->limits[i].share.den;
            if (its && share_of(sub->base_mass, b->limits[i].share, ROUND_DOWN, &most) == FAIL_NONE)
                sub->above = sub->mass > most;
        }
    }
}

void batch_add_up(struct batch_report *b)
{
    add_lines(b);
    set_targets(b);
    add_substances(b);
    judge_substances(b);
    for (uint8_t k = 0; k < b->formula.ingredient_count; k++) {
        b->sums[k].of_meat = part(b->sums[k].actual, b->meat);
        b->sums[k].of_total = part(b->sums[k].actual, b->total);
    }
}
