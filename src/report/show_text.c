/* The batch record as text. Every figure carries its unit. */
#include <inttypes.h>
#include <string.h>

#include "report/page.h"
#include "report/show.h"
#include "report/when.h"
#include "report/words.h"

#define LABEL 13 /* column at which the head's values begin */
#define INDENT 6 /* of what belongs to a line */
#define CLOCK 10 /* column after a time of day */

static const char *const state_words[] = {
    "not begun", "open, running", "open, paused", "HELD: withheld, nobody has decided",
    "complete",  "STOPPED",       "ABORTED"};

static void label(struct page *p, const char *name, const char *value)
{
    page_text(p, name);
    page_indent(p, LABEL);
    page_wrap(p, LABEL, value);
    page_end(p);
}

static void moment(struct page *p, const char *name, int64_t us)
{
    char utc[WHEN_TEXT], local[WHEN_TEXT], both[2 * WHEN_TEXT + 16];
    if (!us) {
        label(p, name, "not yet");
        return;
    }
    when_read_utc(us, utc);
    when_read_local(us, local);
    snprintf(both, sizeof both, "%s UTC (%s)", utc, local);
    label(p, name, both);
}

static void hex(const uint8_t hash[STORE_HASH], char out[65])
{
    for (int k = 0; k < STORE_HASH; k++)
        snprintf(out + (size_t)2 * (size_t)k, 3, "%02x", hash[k]);
}

static void persons(struct page *p, const struct batch_report *b)
{
    char text[BATCH_PERSONS * (CAP_NAME + CAP_PERSON + 8)] = "", who[CAP_NAME + CAP_PERSON + 4];
    size_t n = 0;
    for (unsigned k = 0; k < b->person_count; k++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%s%s", k ? ", " : "", words_person(b, b->persons[k], who));
    label(p, "Persons", text);
}

static void basis(struct page *p, const struct batch_report *b)
{
    char text[120], mass[MASS_TEXT_MAX];
    const char *how = b->has_basis ? ", confirmed" : "";
    if (b->basis == BASIS_WEIGHED && !b->has_basis)
        snprintf(text, sizeof text, "the meat as weighed, not yet confirmed");
    else
        snprintf(text, sizeof text, "%s of meat, %s%s",
                 look_mass(look_of(b, "", &b->basis_mass, 1), b->basis_mass, mass),
                 meat_basis_text((enum meat_basis)b->basis), how);
    label(p, "Basis", text);
}

static void head(struct page *p, const struct batch_report *b)
{
    char text[160], hash[65];
    const char *name = b->formula.name[b->lang][0] ? b->formula.name[b->lang] : b->texts.formula_name;
    page_text(p, "BATCH RECORD ");
    page_indent(p, PAGE_WIDTH - page_columns(b->id));
    page_text(p, b->id);
    page_end(p);
    page_wrap(p, 0, name);
    page_end(p);
    page_end(p);
    label(p, "State", state_words[b->state <= BATCH_ABORTED ? b->state : 0]);
    moment(p, "Begun", b->started_us);
    moment(p, "Ended", b->ended_us);
    persons(p, b);
    snprintf(text, sizeof text, "%s%s%s", b->station.name[0] ? b->station.name : "not named",
             b->station.jurisdiction[0] ? "; jurisdiction " : "", b->station.jurisdiction);
    label(p, "Station", text);
    basis(p, b);
    label(p, "Formula", b->texts.formula_id[0] ? b->texts.formula_id : "not named");
    label(p, " its hash", b->texts.formula[0] ? b->texts.formula : "not kept");
    hex(b->last_hash, hash);
    snprintf(text, sizeof text, "entries %" PRId64 " to %" PRId64 "; the last one's hash:", b->first_seq, b->last_seq);
    label(p, "Journal", text);
    label(p, "", hash);
    if (!b->has_formula)
        label(p, "NOTE",
              "The formula's text is not in the journal or can't be read: no names, sums by ingredient or levels.");
    if (b->unreadable) {
        snprintf(text, sizeof text, "%u entries can't be read; run tareline records verify.", b->unreadable);
        label(p, "NOTE", text);
    }
}

static const char *verdict_words(const struct record *r)
{
    if (!r->has_band)
        return "";
    return r->verdict == VERDICT_IN ? "in band" : r->verdict == VERDICT_OVER ? "OVER" : "UNDER";
}

/* What the band was and what the scale said: enough to work the net out again by hand. */
static void figures(struct page *p, const struct batch_report *b, const struct batch_line *line, struct look look)
{
    const struct record *r = &line->r;
    char text[400], a[MASS_TEXT_MAX], c[MASS_TEXT_MAX], d[MASS_TEXT_MAX], e[MASS_TEXT_MAX];
    if (r->has_band)
        snprintf(text, sizeof text, "target %s, band %s to %s, difference %s", look_mass(look, r->target, a),
                 look_mass(look, r->low, c), look_mass(look, r->high, d), look_difference(look, r->net - r->target, e));
    else
        snprintf(text, sizeof text, "no target of its own");
    page_indent(p, INDENT);
    page_wrap(p, INDENT, text);
    page_end(p);
    int n = 0;
    if (r->has_gross)
        n = snprintf(text, sizeof text, "gross %s, tare %s, ", look_mass(look, r->gross, a),
                     look_mass(look, r->tare, c));
    n += snprintf(text + n, sizeof text - (size_t)n, "%s%s%s", *line->scale ? "scale " : "no scale", line->scale,
                  batch_declared(b, r->item, line->scale) ? ", DECLARED, not weighed"
                  : r->manner == MANNER_LIVE              ? ", live"
                  : r->manner == MANNER_TYPED             ? ", TYPED BY HAND"
                                                          : ", by label");
    n += snprintf(text + n, sizeof text - (size_t)n, "%s%s", r->lot[0] ? ", lot " : "", r->lot);
    if (r->agreed)
        n += snprintf(text + n, sizeof text - (size_t)n, ", at rest by two agreeing lines");
    if (r->disputed)
        snprintf(text + n, sizeof text - (size_t)n, ", the scale marked motion");
    page_indent(p, INDENT);
    page_wrap(p, INDENT, text);
    page_end(p);
}

static void times(struct page *p, const struct batch_report *b, const struct batch_line *line)
{
    char text[300], clock[WHEN_TEXT];
    when_clock(line->weighed_us, clock);
    const char *how = line->r.manner == MANNER_LIVE ? "weighed" : "recorded";
    int n = snprintf(text, sizeof text, "%s %s by %s", how, clock, line->r.person);
    if (line->r.second[0] && !strcmp(line->r.second, line->r.person)) /* no second person: it must not read like one */
        n += snprintf(text + n, sizeof text - (size_t)n, ", looked at again by the same person");
    else if (line->r.second[0])
        n += snprintf(text + n, sizeof text - (size_t)n, ", seconded by %s", line->r.second);
    if (line->discarded_us) {
        when_clock(line->discarded_us, clock);
        snprintf(text + n, sizeof text - (size_t)n, ", DISCARDED %s by %s: not counted", clock, line->discarded_by);
    } else if (line->added_us) {
        when_clock(line->added_us, clock);
        snprintf(text + n, sizeof text - (size_t)n, ", added %s by %s", clock, line->added_by);
    } else {
        snprintf(text + n, sizeof text - (size_t)n, b->ended_us ? ", NOT ADDED" : ", not added yet");
    }
    page_indent(p, INDENT);
    page_wrap(p, INDENT, text);
    page_end(p);
}

static void line_text(struct page *p, const struct batch_report *b, const struct batch_line *line)
{
    const struct record *r = &line->r;
    const mass_pg all[] = {
        r->net, r->gross, r->tare, r->has_band ? r->target : 0, r->has_band ? r->low : 0, r->has_band ? r->high : 0};
    struct look look = look_of(b, line->scale, all, 6);
    char number[16], actual[MASS_TEXT_MAX], name[CAP_NAME + 24];
    snprintf(number, sizeof number, "%u", r->item);
    if (r->parent)
        snprintf(name, sizeof name, "%s (after item %u)", batch_line_name(b, line), r->parent);
    else
        snprintf(name, sizeof name, "%s", batch_line_name(b, line));
    page_right(p, number, 4);
    page_indent(p, INDENT);
    page_cell(p, name, 49);
    page_right(p, look_mass(look, r->net, actual), 13);
    page_indent(p, PAGE_WIDTH - 9);
    page_text(p, line->discarded_us ? "discarded" : verdict_words(r));
    page_end(p);
    figures(p, b, line, look);
    if (r->reason[0]) {
        page_indent(p, INDENT);
        page_text(p, "reason: ");
        page_wrap(p, INDENT, r->reason);
        page_end(p);
    }
    times(p, b, line);
}

static void weighings(struct page *p, const struct batch_report *b)
{
    page_heading(p, "WEIGHED (item, ingredient, actual net)");
    for (unsigned k = 0; k < b->line_count; k++)
        line_text(p, b, &b->lines[k]);
    if (b->line_count == 0) {
        page_text(p, "Nothing yet.");
        page_end(p);
    }
}

/* Millionths of a percent to three places. */
static const char *percent(int64_t micro, char buf[MASS_TEXT_MAX])
{
    int64_t milli = (micro + 500) / 1000;
    snprintf(buf, MASS_TEXT_MAX, "%" PRId64 ".%03" PRId64 " %%", milli / 1000, milli % 1000);
    return buf;
}

static void sum_row(struct page *p, const char *name, const char *const cells[5])
{
    static const uint8_t widths[] = {11, 11, 10, 9, 9};
    page_cell(p, name, 24);
    for (int k = 0; k < 5; k++)
        page_right(p, cells[k], widths[k]);
    page_end(p);
}

static void ingredient_row(struct page *p, const struct batch_report *b, uint8_t k)
{
    const struct batch_sum *sum = &b->sums[k];
    char text[5][MASS_TEXT_MAX];
    mass_pg larger = sum->any ? sum->actual : sum->target;
    struct look look = look_of(b, "", &larger, 1);
    /* Cut to what the columns hold; the exact figures stand with each weighing. */
    look.places = look.unit == UNIT_KG || look.places > 2 ? 3 : look.unit == UNIT_G ? 2 : look.places;
    bool both = sum->any && sum->has_target;
    const char *const cells[] = {sum->any ? look_mass(look, sum->actual, text[0]) : "-",
                                 sum->has_target ? look_mass(look, sum->target, text[1]) : "-",
                                 both ? look_difference(look, sum->actual - sum->target, text[2]) : "-",
                                 sum->any ? percent(sum->of_meat, text[3]) : "-",
                                 sum->any ? percent(sum->of_total, text[4]) : "-"};
    sum_row(p, batch_ingredient_name(b, k), cells);
}

static void sums(struct page *p, const struct batch_report *b)
{
    static const char *const titles[] = {"actual", "formula", "difference", "of meat", "of total"};
    char text[5][MASS_TEXT_MAX];
    page_heading(p, "INGREDIENTS");
    if (b->beyond) {
        page_text(p, "The masses add up to more than can be held; no sums are given.");
        page_end(p);
        return;
    }
    sum_row(p, "", titles);
    for (uint8_t k = 0; k < b->formula.ingredient_count; k++)
        ingredient_row(p, b, k);
    const mass_pg both[] = {b->meat, b->total};
    struct look look = look_of(b, "", both, 2);
    const char *const meat[] = {look_mass(look, b->meat, text[0]), "", "", "", ""};
    const char *const total[] = {look_mass(look, b->total, text[1]), "", "", "", ""};
    sum_row(p, "All meat", meat);
    sum_row(p, "All that counts", total);
}

static void substances(struct page *p, const struct batch_report *b)
{
    if (b->substance_count == 0 || b->beyond)
        return;
    page_heading(p, "REGULATED SUBSTANCES (level from the actual weights)");
    for (unsigned k = 0; k < b->substance_count; k++) {
        const struct batch_substance *sub = &b->substances[k];
        char text[300];
        int n =
            snprintf(text, sizeof text, "%s: %" PRId64 ".%02" PRId64 " ppm of the %s%s; ", sub->key, sub->level / 100,
                     sub->level % 100, sub->base == BASE_TOTAL ? "total" : "meat", b->ended_us ? "" : " so far");
        if (sub->has_limit)
            snprintf(text + n, sizeof text - (size_t)n, "limit %" PRId64 ".%02" PRId64 " ppm (%s): %s",
                     sub->limit / 100, sub->limit % 100, sub->source, sub->above ? "ABOVE THE LIMIT" : "not above it");
        else
            snprintf(text + n, sizeof text - (size_t)n, "no limit is known to the journal");
        page_wrap(p, INDENT, text);
        page_end(p);
    }
}

/* Each ingredient once, however many portions of it went in. */
static void step_names(const struct batch_report *b, const struct batch_step *done, char *buf, size_t cap)
{
    size_t n = (size_t)snprintf(buf, cap, "added:");
    const char *between = " ";
    for (uint8_t i = 0; i < b->formula.ingredient_count; i++) {
        bool in = false;
        for (unsigned k = 0; k < b->line_count; k++)
            in = in || (b->lines[k].index == i && b->lines[k].added_us == done->us);
        if (!in || b->formula.ingredients[i].add_step != done->index || n + 1 >= cap)
            continue;
        n += (size_t)snprintf(buf + n, cap - n, "%s%s", between, batch_ingredient_name(b, i));
        between = "; ";
    }
}

static void step_text(const struct batch_report *b, const struct batch_step *done, char *buf, size_t cap)
{
    char value[MASS_TEXT_MAX], low[MASS_TEXT_MAX] = "", high[MASS_TEXT_MAX] = "";
    const struct step *step = done->index == NO_STEP ? NULL : &b->formula.steps[done->index];
    const char *text = !step ? "" : step->text[b->lang][0] ? step->text[b->lang] : step->text[0];
    if (done->r.kind == REC_ADDED) {
        step_names(b, done, buf, cap);
        return;
    }
    if (done->r.kind == REC_INSTRUCTED || !step) {
        snprintf(buf, cap, "done: %s", text);
        return;
    }
    if (step->low_milli != CHECK_NONE)
        words_check(step->low_milli, step->unit, low);
    if (step->high_milli != CHECK_NONE)
        words_check(step->high_milli, step->unit, high);
    snprintf(buf, cap, "%s: %s, limits %s to %s, %s", text, words_check(done->r.value_milli, step->unit, value),
             *low ? low : "none", *high ? high : "none", done->r.verdict == VERDICT_IN ? "within" : "OUTSIDE");
}

static void dated(struct page *p, int64_t us, const char *person, const char *text)
{
    char clock[WHEN_TEXT];
    when_clock(us, clock);
    page_cell(p, clock, CLOCK - 2);
    page_cell(p, person, 5);
    page_wrap(p, p->column, text);
    page_end(p);
}

static void steps(struct page *p, const struct batch_report *b)
{
    char text[2048];
    page_heading(p, "STEPS");
    for (unsigned k = 0; k < b->step_count; k++) {
        step_text(b, &b->steps[k], text, sizeof text);
        dated(p, b->steps[k].us, b->steps[k].r.person, text);
    }
    if (b->step_count == 0) {
        page_text(p, "None yet.");
        page_end(p);
    }
}

static void on_the_way(struct page *p, const struct batch_report *b)
{
    char text[WORDS_MAX];
    page_heading(p, "WHAT HAPPENED ON THE WAY");
    for (unsigned k = 0; k < b->event_count; k++)
        dated(p, b->events[k].us, b->events[k].r.person, words_event(b, &b->events[k], text));
    if (b->events_left_out) {
        snprintf(text, sizeof text, "and %u more; tareline records export shows them", b->events_left_out);
        page_text(p, text);
        page_end(p);
    }
    if (b->event_count == 0) {
        page_text(p, "Nothing but what stands above.");
        page_end(p);
    }
}

void show_text(const struct batch_report *b, FILE *to)
{
    struct page page = {.to = to};
    head(&page, b);
    weighings(&page, b);
    if (b->has_formula)
        sums(&page, b);
    substances(&page, b);
    steps(&page, b);
    on_the_way(&page, b);
    page_end(&page);
    page_wrap(
        &page, 0,
        "Made from the journal alone; tareline records verify checks it. Times of day are the local ones. Weights and"
        " levels computed from them only: your approved plan and local law decide what may be sold.");
    page_end(&page);
}
