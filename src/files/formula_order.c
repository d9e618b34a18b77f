/* The order of weighing.
 *
 * Basis weighed: meats first, since everything is scaled from them. Basis planned: meats last, weighed to the kits,
 * unless their number says otherwise. Within each, numbered ones by their number, then the others as the file has them. */
#include "files/formula_raw.h"

#define LATE 1000000u /* above every number that can be given (999) */

/* A number by which the parts sort; the place in the file settles ties. */
static uint32_t rank(const struct raw_formula *raw, const struct raw_part *p)
{
    bool planned = raw->head.basis == 1;
    uint32_t number = p->weigh ? p->weigh : LATE;
    if (!planned)
        return number + (p->meat ? 0 : 2 * LATE);
    return number + (p->meat && !p->weigh ? LATE : 0);
}

/* Two at one place would be settled by the order of the file, silently. And an ingredient that is scaled from the meat
 * has no target before the meat is weighed. */
static void check_numbers(const struct raw_formula *raw)
{
    const struct raw_part *end = raw->parts + raw->part_count;
    for (const struct raw_part *p = raw->parts; p < end; p++) {
        if (!p->weigh)
            continue;
        unsigned line = ini_line(raw->doc, p->section, "weigh");
        for (const struct raw_part *q = raw->parts; q < end; q++) {
            if (q < p && q->weigh == p->weigh)
                faults_add(raw->doc->faults, raw->doc->path, line,
                           "weigh = %u: it is the place of [%s %s]; expected a number of its own", p->weigh,
                           q->section->kind, q->section->title);
            if (raw->head.basis == 0 && !p->meat && q->meat && q->weigh > p->weigh) {
                faults_add(raw->doc->faults, raw->doc->path, line,
                           "weigh = %u: before [meat %s], from whose weight it is scaled (basis = weighed); expected a "
                           "number above %u",
                           p->weigh, q->section->title, q->weigh);
                break;
            }
        }
    }
}

/* What goes into the common tub is weighed in one go: nothing else in between. */
static void check_tub(const struct raw_formula *raw, const uint8_t order[CAP_INGREDIENTS])
{
    bool begun = false;
    bool ended = false;
    for (unsigned i = 0; i < raw->part_count; i++) {
        const struct raw_part *p = &raw->parts[order[i]];
        if (p->meat || p->way != WAY_TUB) {
            ended = begun;
            continue;
        }
        if (ended) {
            const struct raw_part *between = &raw->parts[order[i - 1]];
            faults_add(
                raw->doc->faults, raw->doc->path, ini_line(raw->doc, p->section, "way"),
                "[ingredient %s] goes into the common tub, but [%s %s] is weighed in between; expected the tub's "
                "ingredients one after another in the order of weighing",
                p->section->title, between->section->kind, between->section->title);
            return;
        }
        begun = true;
    }
}

void formula_order(const struct raw_formula *raw, struct formula *out)
{
    uint8_t order[CAP_INGREDIENTS];
    check_numbers(raw);
    for (unsigned i = 0; i < raw->part_count; i++) {
        unsigned j = i;
        /* insertion: stable, so the file's order stays among equals */
        for (; j > 0 && rank(raw, &raw->parts[order[j - 1]]) > rank(raw, &raw->parts[i]); j--)
            order[j] = order[j - 1];
        order[j] = (uint8_t)i;
    }
    for (unsigned i = 0; i < raw->part_count; i++)
        out->ingredients[order[i]].weigh_order = (uint8_t)i;
    check_tub(raw, order);
}
