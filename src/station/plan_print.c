/* The batch sheet as text. */
#include "station/plan.h"

#include <string.h>

#define NAME_WIDTH 27 /* so that a line has 80 columns */

static const char *name_of(const struct plan *p, const struct ingredient *in)
{
    return in->name[p->lang][0] ? in->name[p->lang] : in->name[0];
}

/* A mass as a scale of this division shows it. */
static void shown(mass_pg m, mass_pg division, char buf[MASS_TEXT_MAX])
{
    enum mass_unit unit = division >= PG_PER_G ? UNIT_KG : UNIT_G;
    mass_format_unit(m, unit, mass_places(division, unit), buf, MASS_TEXT_MAX);
}

/* Pads to `width` characters, of which UTF-8 may take several bytes each. */
static void print_padded(FILE *to, const char *text, int width)
{
    for (; *text; text++) {
        if (((unsigned char)*text & 0xc0) != 0x80 && width-- <= 0)
            return;
        fputc(*text, to);
    }
    for (; width > 0; width--)
        fputc(' ', to);
}

static const char *why_unfit(enum fit fit)
{
    static const char *const words[] = {[FIT_HEAVY] = "with its container it passes the capacity",
                                        [FIT_LIGHT] = "below the least load of its class",
                                        [FIT_COARSE] = "its division is wider than the band"};
    return words[fit];
}

static void print_line(const struct plan *p, const struct item *it, FILE *to)
{
    const struct ingredient *in = &p->formula.ingredients[it->ingredient];
    const struct scale_setup *sc = &p->scales[it->scale];
    char target[MASS_TEXT_MAX];
    char low[MASS_TEXT_MAX];
    char high[MASS_TEXT_MAX];
    char bin[8] = "";
    if (in->bin)
        snprintf(bin, sizeof bin, "%u", in->bin);
    shown(it->has_band ? it->target : p->exact[it->ingredient], sc->division, target);
    fprintf(to, "%3s ", bin);
    print_padded(to, name_of(p, in), NAME_WIDTH);
    fprintf(to, " %10s", target);
    if (plan_banded(p, it)) {
        shown(it->low, sc->division, low);
        shown(it->high, sc->division, high);
        fprintf(to, "  %10s .. %10s", low, high);
    } else if (p->has_scales) {
        fprintf(to, "%26s", "");
    }
    fprintf(to, "%s%s\n", p->has_scales ? "  " : "", p->has_scales ? sc->name : "");
    if (p->has_scales && plan_fit(p, it) != FIT_GOOD)
        fprintf(to, "    NOT FIT for %s: %s.\n", sc->name, why_unfit(plan_fit(p, it)));
}

static void print_doses(const struct plan *p, FILE *to)
{
    for (uint8_t i = 0; i < p->formula.ingredient_count; i++) {
        const struct ingredient *in = &p->formula.ingredients[i];
        struct plan_dose d;
        char most[MASS_TEXT_MAX];
        if (!in->substance[0])
            continue;
        if (!p->has_limits || !plan_dose(p, i, &d)) {
            fprintf(to, "\n%s is regulated (%s). Its limit was NOT looked up: no --station says whose law holds.\n",
                    name_of(p, in), in->substance);
            continue;
        }
        mass_format_unit(d.most, UNIT_G, 2, most, sizeof most);
        fprintf(to, "\n%s: %lld.%02lld ppm %s of the %s; at most %lld.%02lld ppm, which is %s.\n", name_of(p, in),
                (long long)d.planned_hppm / 100, (long long)d.planned_hppm % 100, in->substance,
                p->limits[i].base == BASE_TOTAL ? "total" : "meat", (long long)d.most_hppm / 100,
                (long long)d.most_hppm % 100, most);
        fprintf(to, "%s (%s; confirm it against the current text of the law)\n",
                d.within ? "Within its limit." : "BEYOND ITS LIMIT: it can't be weighed so.", p->limits[i].source);
    }
}

/* "Salt, Seasoning" of one addition. */
static void print_added(const struct plan *p, uint8_t step, FILE *to)
{
    const char *before = "Add ";
    for (uint8_t i = 0; i < p->formula.ingredient_count; i++) {
        if (p->formula.ingredients[i].add_step != step)
            continue;
        fprintf(to, "%s%s", before, name_of(p, &p->formula.ingredients[i]));
        before = "; ";
    }
    fputs(".", to);
}

static void print_limits_of_check(const struct step *st, FILE *to)
{
    char number[24];
    const int32_t sides[2] = {st->low_milli, st->high_milli};
    for (int k = 0; k < 2; k++) {
        if (sides[k] == CHECK_NONE)
            continue;
        mass_format(sides[k] * PG_PER_MG, UNIT_G, -1, number, sizeof number); /* thousandths, as g from mg */
        fprintf(to, "%s %s %s",
                k == 0                        ? ": at least"
                : st->low_milli == CHECK_NONE ? ": at most"
                                              : ", at most",
                number, st->unit);
    }
    fputs(".", to);
}

static void print_steps(const struct plan *p, FILE *to)
{
    for (uint8_t k = 0; k < p->formula.step_count; k++) {
        const struct step *st = &p->formula.steps[k];
        const char *text = st->text[p->lang][0] ? st->text[p->lang] : st->text[0];
        fprintf(to, "%4u  ", k + 1u);
        if (st->kind == STEP_ADD)
            print_added(p, k, to);
        fprintf(to, "%s%s", st->kind == STEP_ADD && *text ? " " : "", text);
        if (st->kind == STEP_CHECK)
            print_limits_of_check(st, to);
        fputc('\n', to);
    }
}

void plan_print(const struct plan *p, FILE *to)
{
    char meat[MASS_TEXT_MAX];
    char total[MASS_TEXT_MAX];
    const struct item *it;
    const char *name = p->formula.name[p->lang][0] ? p->formula.name[p->lang] : p->formula.name[0];
    mass_format_unit(p->meat, UNIT_KG, 3, meat, sizeof meat);
    mass_format_unit(p->total, UNIT_KG, 3, total, sizeof total);
    fprintf(to, "%s (%s)\nFor %s of meat (%s); %s in all.\n", name, p->formula.id, meat,
            p->setup.basis == BASIS_PLANNED ? "planned: meat is weighed to it" : "weighed meat changes every figure",
            total);
    if (!p->has_scales)
        fputs("No scale was given: figures are rounded to 0.01 g.\n", to);
    fputs("\nbin in the order of weighing        target        from            to  scale\n", to);
    for (unsigned k = 0; (it = plan_line(p, k)) != NULL; k++)
        print_line(p, it, to);
    print_doses(p, to);
    fputs("\nProcedure\n", to);
    print_steps(p, to);
}
