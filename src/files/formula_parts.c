/* Ingredients of a formula: bands inherited, shares added up, what is regulated made certain. */
#include <string.h>

#include "files/amount.h"
#include "files/formula_raw.h"

#define WHOLE 100000000u /* 100 % in millionths of a percent */

/* A fault of one part, in the line of the key that it is about, or of its section if that key is absent. */
static void part_fault(const struct raw_formula *raw, const struct raw_part *p, const char *key, const char *what)
{
    faults_add(raw->doc->faults, raw->doc->path, ini_line(raw->doc, p->section, key), "[%s %s]: %s", p->section->kind,
               p->section->title, what);
}

/* The nearest word counts: own side, own band, the formula's side, the formula's band. */
static struct band_side pick(const struct band_side *own, const struct band_side *both, const struct band_side *side,
                             const struct band_side *all)
{
    return own->given ? *own : both->given ? *both : side->given ? *side : *all;
}

/* True if a band was given but is wrong, which was said where it stands. */
static bool band_failed(const struct raw_formula *raw, const struct ini_section *s, const struct raw_band *b)
{
    return (ini_find(raw->doc, s, "band") && !b->both.given) ||
           (ini_find(raw->doc, s, "band.under") && !b->under.given) ||
           (ini_find(raw->doc, s, "band.over") && !b->over.given);
}

static void resolve_band(const struct raw_formula *raw, const struct raw_part *p, struct band_spec *out)
{
    const struct raw_band *own = &p->band;
    const struct raw_band *all = &raw->head.band;
    out->under = pick(&own->under, &own->both, &all->under, &all->both);
    out->over = pick(&own->over, &own->both, &all->over, &all->both);
    bool failed = band_failed(raw, p->section, own) || band_failed(raw, raw->head_section, all);
    if (!failed && (!out->under.given || !out->over.given))
        part_fault(raw, p, "name",
                   "it has no band on both sides; expected \"band\" here or in [formula], such as band = 2 %");
}

/* What the law limits must be certain: which substance, how much of the ingredient it is, and which limit holds. One
 * substance in two ingredients would let each keep the limit while both together break it. */
static void check_regulated(const struct raw_formula *raw, const struct raw_part *p)
{
    if (p->substance[0] && !p->content.den)
        part_fault(raw, p, "substance",
                   "\"substance\" without \"content\"; expected how much of it is the substance, such as "
                   "content = 6.25 %");
    if (!p->substance[0]) {
        if (ini_find(raw->doc, p->section, "content"))
            part_fault(raw, p, "content",
                       "\"content\" without \"substance\"; expected which substance is meant, such as "
                       "substance = sodium-nitrite");
        return;
    }
    if (p->way == WAY_TUB)
        part_fault(raw, p, "way", "a regulated ingredient never goes into a common tub; expected way = cup");
    if (!raw->head.product_class[0])
        part_fault(raw, p, "substance",
                   "it is regulated, so its limit must be found; expected \"class\" in [formula], such "
                   "as class = comminuted");
    for (const struct raw_part *q = raw->parts; q < p; q++)
        if (!strcmp(q->substance, p->substance))
            faults_add(
                raw->doc->faults, raw->doc->path, ini_line(raw->doc, p->section, "substance"),
                "[ingredient %s]: %s already comes from [ingredient %s], and a limit is judged for one ingredient; "
                "expected one ingredient with it",
                p->section->title, p->substance, q->section->title);
}

/* A bin's number is shown large so that the wrong bin is noticed: it must mean one thing. */
static void check_unique(const struct raw_formula *raw, const struct raw_part *p)
{
    for (const struct raw_part *q = raw->parts; q < p; q++) {
        if (!strcmp(q->section->title, p->section->title) && q->meat != p->meat)
            faults_add(raw->doc->faults, raw->doc->path, p->section->line,
                       "\"%s\" is already the name of the [%s] in line %u; expected another name", p->section->title,
                       q->section->kind, q->section->line);
        if (p->bin && q->bin == p->bin)
            faults_add(raw->doc->faults, raw->doc->path, ini_line(raw->doc, p->section, "bin"),
                       "bin = %u: it is the bin of [%s %s]; expected a number of its own", p->bin, q->section->kind,
                       q->section->title);
    }
}

/* Exact only for a share of at most six places (share_six_places), whose denominator divides WHOLE. */
static uint64_t millionths(struct share s)
{
    return (uint64_t)s.num * (WHOLE / s.den);
}

/* The shares of the meats must be the whole block, to the last digit. */
static void check_block(const struct raw_formula *raw)
{
    uint64_t sum = 0;
    const struct raw_part *last = NULL;
    for (const struct raw_part *p = raw->parts; p < raw->parts + raw->part_count; p++) {
        if (!p->meat)
            continue;
        if (!p->share.den)
            return; /* already a fault */
        if (!share_six_places(p->share)) {
            part_fault(raw, p, "share", "a share with more than six decimals; expected at most six");
            return;
        }
        sum += millionths(p->share);
        last = p;
    }
    if (!last || sum == WHOLE)
        return;
    char text[96];
    snprintf(text, sizeof text, "the shares of the meats add up to %llu.%06llu %%; expected exactly 100 %%",
             (unsigned long long)(sum / 1000000), (unsigned long long)(sum % 1000000));
    part_fault(raw, last, "share", text);
}

/* Shares of the total leave no room for the meat when they reach 100 %. */
static void check_total(const struct raw_formula *raw)
{
    uint64_t sum = 0;
    for (const struct raw_part *p = raw->parts; p < raw->parts + raw->part_count; p++) {
        if (p->meat || !p->amount.share.den || p->amount.base != BASE_TOTAL)
            continue;
        sum += millionths(p->amount.share);
        if (sum >= WHOLE) {
            part_fault(raw, p, "amount",
                       "with it the shares of the total reach 100 %, which leaves no room for meat; expected "
                       "less than 100 % together");
            return;
        }
    }
}

/* add_step and weigh_order are the business of the steps and the order. */
static void part_out(const struct raw_part *p, struct ingredient *in)
{
    memcpy(in->key, p->section->title, strnlen(p->section->title, CAP_KEY - 1));
    memcpy(in->name, p->name, sizeof in->name);
    in->bin = p->bin;
    in->meat = p->meat;
    in->ask_lot = p->lot;
    in->critical = p->critical;
    in->base = p->meat ? BASE_BLOCK : p->amount.base;
    in->way = p->way;
    in->share = p->meat ? p->share : p->amount.share;
    in->content = p->content;
    memcpy(in->substance, p->substance, sizeof in->substance);
    memcpy(in->container, p->container, sizeof in->container);
}

void formula_parts(const struct raw_formula *raw, struct formula *out)
{
    for (unsigned i = 0; i < raw->part_count; i++) {
        const struct raw_part *p = &raw->parts[i];
        check_unique(raw, p);
        check_regulated(raw, p);
        part_out(p, &out->ingredients[i]);
        resolve_band(raw, p, &out->ingredients[i].band);
    }
    out->ingredient_count = (uint8_t)raw->part_count;
    check_block(raw);
    check_total(raw);
}
