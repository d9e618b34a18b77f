/* The batch sheet's figures. The batch is laid out by the sequence itself, so that the sheet is what will be weighed. */
#include "station/plan.h"

#include <string.h>

#include "core/exit.h"

#define SHEET_DIVISION (PG_PER_G / 100)   /* what targets are rounded to where no scale is given */
#define SHEET_CAPACITY (9000 * PG_PER_KG) /* below what a mass can hold: nothing is too heavy for it */

static bool load_formula(struct plan *p, const char *name)
{
    char path[FILE_PATH];
    return file_find("formulas", name, path, &p->faults) && file_read(path, &p->text, &p->faults) &&
           formula_read(&p->text, &p->formula, &p->faults);
}

/* Without a station there is no law to look a limit up in, and no known container: the sheet says so. */
static bool load_station(struct plan *p, const struct plan_arguments *a)
{
    char path[FILE_PATH];
    if (a->station && !(file_find("stations", a->station, path, &p->faults) && file_read(path, &p->text, &p->faults) &&
                        station_read(&p->text, &p->station, &p->faults)))
        return false;
    p->has_limits = a->station != NULL;
    if (!station_argued_scales(&p->station, a->scales, a->scale_count, &p->faults))
        return false;
    return containers_find(&p->station, &p->formula, p->cup_empty, p->cup_off, &p->faults) || !a->station;
}

static void set_scale(struct plan *p, uint8_t k)
{
    const struct station_scale *sc = &p->station.scales[k];
    if (!sc->capacity || !sc->division)
        faults_add(&p->faults, sc->name, 0,
                   "this scale has no capacity or no division; expected both, in the station file or in --scale");
    memcpy(p->scales[k].name, sc->name, sizeof p->scales[k].name);
    p->scales[k].capacity = sc->capacity;
    p->scales[k].division = sc->division;
    p->scales[k].min_load = class_min_load(sc->accuracy, sc->division);
}

/* Without a scale the sheet still needs a division to round to; it says that none was given. */
static void set_scales(struct plan *p)
{
    p->has_scales = p->station.scale_count > 0;
    for (uint8_t k = 0; k < p->station.scale_count; k++)
        set_scale(p, k);
    if (!p->has_scales)
        p->scales[0] = (struct scale_setup){.capacity = SHEET_CAPACITY, .division = SHEET_DIVISION};
    p->setup.scale_count = p->has_scales ? p->station.scale_count : 1;
    p->setup.container_max = p->station.container_max;
}

/* The same setup as a weighing's, with the meat declared: no lug has been weighed yet. */
static void set_up(struct plan *p, const struct plan_arguments *a)
{
    p->meat = a->has_meat ? a->meat : p->formula.planned_meat;
    p->setup.formula = &p->formula;
    p->setup.limits = p->limits;
    p->setup.scales = p->scales;
    p->setup.basis = p->formula.basis == BASIS_PLANNED ? BASIS_PLANNED : BASIS_DECLARED;
    p->setup.basis_mass = p->meat;
    p->setup.cup_empty = p->cup_empty;
    p->setup.cup_off = p->cup_off;
    for (uint8_t k = 0; k < p->formula.lang_count; k++)
        if (!strcmp(p->formula.lang[k], p->station.language))
            p->lang = k;
}

/* Lays the batch out and confirms its basis, as a weighing would. */
static bool lay_out(struct plan *p)
{
    struct record r = {.kind = REC_STARTED, .basis = p->setup.basis, .net = p->meat};
    if (scale_formula(&p->formula, p->meat, p->exact) || scale_total(&p->formula, p->meat, p->exact, &p->total) ||
        sequence_init(&p->seq, &p->setup, p->items, p->order, CAP_ITEMS) || sequence_apply(&p->seq, &r))
        return false;
    for (uint16_t k = 0; k < p->seq.item_count && p->setup.basis != BASIS_PLANNED; k++)
        if (p->items[k].kind == ITEM_BASIS) {
            r = (struct record){.kind = REC_BASIS, .item = p->items[k].id, .basis = p->setup.basis, .net = p->meat};
            return sequence_apply(&p->seq, &r) == FAIL_NONE;
        }
    return true;
}

bool plan_dose(const struct plan *p, uint8_t ingredient, struct plan_dose *out)
{
    const struct ingredient *in = &p->formula.ingredients[ingredient];
    const struct limit *limit = &p->limits[ingredient];
    mass_pg base = limit->base == BASE_TOTAL ? p->total : p->meat;
    mass_pg substance = 0;
    mass_pg lawful = 0;
    if (!limit->share.den || limit_mass(in, limit, p->meat, p->total, &out->most) ||
        share_of(p->exact[ingredient], in->content, ROUND_HALF_EVEN, &substance) ||
        share_of(base, limit->share, ROUND_HALF_EVEN, &lawful) ||
        share_micropercent(substance, base, &out->planned_hppm) || share_micropercent(lawful, base, &out->most_hppm))
        return false;
    out->within = p->exact[ingredient] <= out->most + 1; /* a dose on the limit may round up by a picogram */
    return true;
}

const struct item *plan_line(const struct plan *p, unsigned k)
{
    for (uint16_t i = 0; i < p->seq.item_count; i++) {
        const struct item *it = sequence_item(&p->seq, p->order[i]);
        if ((it->kind == ITEM_MEAT || it->kind == ITEM_WEIGH) && k-- == 0)
            return it;
    }
    return NULL;
}

bool plan_banded(const struct plan *p, const struct item *it)
{
    return it->has_band && (p->has_limits || !p->formula.ingredients[it->ingredient].substance[0]);
}

enum fit plan_fit(const struct plan *p, const struct item *it)
{
    if (it->kind == ITEM_MEAT)
        return FIT_GOOD; /* as many lugs as it takes */
    return scale_fit(&p->setup, it->scale, it->ingredient, it->target);
}

/* EXIT_NO: what the law or the scales forbid. */
static int verdict(const struct plan *p)
{
    struct plan_dose dose;
    const struct item *it;
    for (unsigned k = 0; (it = plan_line(p, k)) != NULL; k++) {
        if (!p->formula.ingredients[it->ingredient].substance[0])
            continue;
        if (plan_fit(p, it) != FIT_GOOD || (p->has_limits && !(plan_dose(p, it->ingredient, &dose) && dose.within)))
            return EXIT_NO;
    }
    return EXIT_DONE;
}

static int files_wrong(const struct plan *p)
{
    faults_print(&p->faults, stderr);
    return EXIT_FILE;
}

int station_plan(const struct plan_arguments *a)
{
    static struct plan p; /* too large for the stack; one sheet a run */
    static char json[64 * 1024];
    memset(&p, 0, sizeof p);
    if (!load_formula(&p, a->formula) || !load_station(&p, a))
        return files_wrong(&p);
    if (a->station && !limits_load(&p.station, &p.formula, &p.text, p.limits, &p.faults))
        return files_wrong(&p);
    set_scales(&p);
    if (p.faults.count)
        return files_wrong(&p);
    if (!a->has_meat && p.formula.basis != BASIS_PLANNED) {
        fprintf(stderr, "tareline plan: %s is scaled from what the meat weighs; say how much: --meat 10kg\n",
                a->formula);
        return EXIT_USAGE;
    }
    set_up(&p, a);
    if (!lay_out(&p)) {
        fprintf(stderr,
                "tareline plan: so much meat can't be laid out: a mass passes 9,223 kg, or more than %d weighings\n",
                CAP_ITEMS);
        return EXIT_NO;
    }
    if (!a->json)
        plan_print(&p, stdout);
    else if (plan_json(&p, json, sizeof json))
        puts(json);
    return verdict(&p);
}
