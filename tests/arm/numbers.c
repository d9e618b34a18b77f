/* Arithmetic: muldiv, masses as text, shares, bands and a scaled formula, over pseudo-random figures and every edge. */
#include "core/band.h"
#include "core/mass.h"
#include "core/scaling.h"
#include "core/share.h"
#include "tests/arm/hash.h"
#include "tests/arm/replay.h"
#include "tests/arm/vectors.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

static const int64_t edges[] = {0,         1, -1, 2, -2, 999, INT64_MAX, INT64_MIN, INT64_MAX - 1, INT64_C(1) << 32,
                                -PG_PER_KG};

/* xorshift (Marsaglia 2003, triple 13, 7, 17): any fixed sequence would do. */
static uint64_t next_random(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

/* A figure of any magnitude: half of the draws would have all 64 bits otherwise. */
static uint64_t next_figure(uint64_t *state)
{
    uint64_t value = next_random(state);
    return value >> (next_random(state) & 63);
}

static void take_muldiv(struct part *p, int64_t a, uint64_t num, uint64_t den)
{
    for (int how = ROUND_HALF_EVEN; how <= ROUND_UP; how++) {
        int64_t out = 0;
        p->hash = hash_number(p->hash, (uint64_t)muldiv(a, num, den, (enum rounding)how, &out));
        p->hash = hash_number(p->hash, (uint64_t)out);
        p->count++;
    }
}

struct part replay_numbers(void)
{
    struct part p = {HASH_START, 0};
    uint64_t state = 88172645463325252u;
    for (size_t i = 0; i < COUNT(edges); i++)
        for (size_t j = 0; j < COUNT(edges); j++)
            take_muldiv(&p, edges[i], (uint64_t)edges[j], (uint64_t)edges[COUNT(edges) - 1 - i]);
    for (int i = 0; i < 1000; i++) {
        int64_t a = (int64_t)next_figure(&state);
        uint64_t num = next_figure(&state);
        take_muldiv(&p, i & 1 ? -a : a, num, next_figure(&state));
    }
    return p;
}

static void take_mass(struct part *p, mass_pg mass)
{
    char text[MASS_TEXT_MAX];
    for (int unit = UNIT_KG; unit <= UNIT_GR; unit++)
        for (int places = -1; places <= 6; places += 7) {
            mass_pg back = 0;
            size_t n = mass_format_unit(mass, (enum mass_unit)unit, places, text, sizeof text);
            p->hash = hash_text(p->hash, n ? text : "");
            p->hash = hash_number(p->hash, (uint64_t)mass_parse(text, n, &back));
            p->hash = hash_number(p->hash, (uint64_t)back);
            p->count++;
        }
}

struct part replay_masses(void)
{
    struct part p = {HASH_START, 0};
    uint64_t state = 2463534242u;
    for (size_t i = 0; i < COUNT(edges); i++)
        take_mass(&p, edges[i]);
    for (int i = 0; i < 100; i++)
        take_mass(&p, (int64_t)next_figure(&state));
    for (const char *const *text = vector_masses; *text; text++) {
        mass_pg out = 0;
        size_t n = 0;
        while ((*text)[n])
            n++;
        p.hash = hash_number(p.hash, (uint64_t)mass_parse(*text, n, &out));
        p.hash = hash_number(p.hash, (uint64_t)out);
        p.count++;
    }
    return p;
}

static void take_band(struct part *p, const struct ingredient *in, mass_pg target, mass_pg division)
{
    for (mass_pg limit = -1; limit <= target; limit += target / 2 + 1) {
        struct band band = {0};
        p->hash = hash_number(p->hash, (uint64_t)band_make(target, &in->band, division, limit, &band));
        p->hash = hash_number(p->hash, (uint64_t)band.target);
        p->hash = hash_number(p->hash, (uint64_t)band.low);
        p->hash = hash_number(p->hash, (uint64_t)band.high);
        p->count++;
    }
}

struct part replay_scaling(void)
{
    struct part p = {HASH_START, 0};
    uint64_t state = 362436069u;
    for (int i = 0; i < 60; i++) {
        mass_pg targets[CAP_INGREDIENTS] = {0}, total = 0;
        mass_pg meat = (mass_pg)(next_random(&state) % (uint64_t)(100 * PG_PER_KG)) + 1;
        p.hash = hash_number(p.hash, (uint64_t)scale_formula(&vector_formula, meat, targets));
        p.hash = hash_number(p.hash, (uint64_t)scale_total(&vector_formula, meat, targets, &total));
        p.hash = hash_number(p.hash, (uint64_t)total);
        for (int k = 0; k < vector_formula.ingredient_count; k++)
            take_band(&p, &vector_formula.ingredients[k], targets[k], i & 1 ? 5 * PG_PER_G : PG_PER_G / 100);
    }
    return p;
}
