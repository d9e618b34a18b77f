/* The batch record as one JSON object; docs/journal.md lists its keys. */
#include <stdlib.h>
#include <string.h>

#include "core/json.h"
#include "report/show.h"
#include "report/when.h"
#include "report/words.h"

#define SHOW_MAX                                                                                                       \
    ((size_t)1024 * 1024) /* 160 lines, 64 steps and 200 events of the longest strings come to two thirds of it */

static void put_moment(struct json *j, const char *key, int64_t us)
{
    char text[WHEN_TEXT] = "";
    if (us)
        when_utc(us, text);
    json_put_string(j, key, text);
}

static void put_decimal(struct json *j, const char *key, int64_t value, unsigned places)
{
    json_key(j, key);
    json_decimal(j, value, places);
}

static void put_head(struct json *j, const struct batch_report *b)
{
    char hash[65];
    for (int k = 0; k < STORE_HASH; k++)
        snprintf(hash + (size_t)2 * (size_t)k, 3, "%02x", b->last_hash[k]);
    json_put_int(j, "v", 1);
    json_put_string(j, "batch", b->id);
    json_put_string(j, "state", batch_state_text((enum batch_state)b->state));
    json_put_string(j, "formula", b->texts.formula_id);
    json_put_string(j, "formula_name", b->texts.formula_name);
    json_put_string(j, "formula_text", b->texts.formula);
    json_put_string(j, "station", b->station.name);
    json_put_string(j, "jurisdiction", b->station.jurisdiction);
    put_moment(j, "started", b->started_us);
    put_moment(j, "ended", b->ended_us);
    json_put_string(j, "basis", meat_basis_text((enum meat_basis)b->basis));
    json_put_grams_if(j, "basis_g", b->has_basis || b->basis != BASIS_WEIGHED, b->basis_mass);
    json_put_bool(j, "basis_confirmed", b->has_basis);
    json_put_int(j, "first_seq", b->first_seq);
    json_put_int(j, "last_seq", b->last_seq);
    json_put_string(j, "last_hash", hash);
    json_put_int(j, "unreadable", b->unreadable);
}

static void put_persons(struct json *j, const struct batch_report *b)
{
    json_key(j, "persons");
    json_open(j, '[');
    for (unsigned k = 0; k < b->person_count; k++) {
        json_open(j, '{');
        json_put_string(j, "person", b->persons[k]);
        json_put_string(j, "name", batch_person_name(b, b->persons[k]));
        json_close(j, '}');
    }
    json_close(j, ']');
}

static void put_line(struct json *j, const struct batch_report *b, const struct batch_line *line)
{
    const struct record *r = &line->r;
    json_open(j, '{');
    json_put_int(j, "item", r->item);
    json_put_id(j, "parent", r->parent);
    json_put_string(j, "ingredient", line->ingredient);
    json_put_string(j, "name", batch_line_name(b, line));
    json_put_string(j, "lot", r->lot);
    json_put_string(j, "scale", line->scale);
    json_put_grams_if(j, "gross_g", r->has_gross, r->gross);
    json_put_grams_if(j, "tare_g", r->has_gross, r->tare);
    json_put_grams_if(j, "target_g", r->has_band, r->target);
    json_put_grams_if(j, "low_g", r->has_band, r->low);
    json_put_grams_if(j, "high_g", r->has_band, r->high);
    json_put_grams(j, "actual_g", r->net);
    json_put_grams_if(j, "difference_g", r->has_band, r->net - r->target);
    json_put_string(j, "verdict", verdict_text((enum verdict)r->verdict));
    json_put_string(j, "manner", manner_text((enum manner)r->manner));
    json_put_bool(j, "disputed", r->disputed);
    json_put_bool(j, "agreed", r->agreed);
    json_put_string(j, "reason", r->reason);
    json_put_string(j, "person", r->person);
    json_put_string(j, "second", r->second);
    put_moment(j, "weighed", line->weighed_us);
    put_moment(j, "added", line->added_us);
    json_put_string(j, "added_by", line->added_by);
    put_moment(j, "discarded", line->discarded_us);
    json_put_string(j, "discarded_by", line->discarded_by);
    json_put_int(j, "seq", line->seq);
    json_close(j, '}');
}

static void put_lines(struct json *j, const struct batch_report *b)
{
    json_key(j, "lines");
    json_open(j, '[');
    for (unsigned k = 0; k < b->line_count; k++)
        put_line(j, b, &b->lines[k]);
    json_close(j, ']');
}

static void put_sums(struct json *j, const struct batch_report *b)
{
    json_put_grams_if(j, "meat_g", !b->beyond && b->has_formula, b->meat);
    json_put_grams_if(j, "total_g", !b->beyond, b->total);
    json_key(j, "ingredients");
    json_open(j, '[');
    for (uint8_t k = 0; k < b->formula.ingredient_count && !b->beyond; k++) {
        const struct batch_sum *sum = &b->sums[k];
        json_open(j, '{');
        json_put_string(j, "ingredient", b->formula.ingredients[k].key);
        json_put_bool(j, "meat", b->formula.ingredients[k].meat);
        json_put_grams(j, "actual_g", sum->actual);
        json_put_grams_if(j, "target_g", sum->has_target, sum->target);
        json_put_grams_if(j, "difference_g", sum->has_target, sum->actual - sum->target);
        put_decimal(j, "meat_pct", sum->of_meat, 6);
        put_decimal(j, "total_pct", sum->of_total, 6);
        json_close(j, '}');
    }
    json_close(j, ']');
}

static void put_substances(struct json *j, const struct batch_report *b)
{
    json_key(j, "substances");
    json_open(j, '[');
    for (unsigned k = 0; k < b->substance_count && !b->beyond; k++) {
        const struct batch_substance *sub = &b->substances[k];
        json_open(j, '{');
        json_put_string(j, "substance", sub->key);
        json_put_grams(j, "mass_g", sub->mass);
        json_put_string(j, "of", sub->base == BASE_TOTAL ? "total" : "meat");
        json_put_grams(j, "of_g", sub->base_mass);
        put_decimal(j, "level_ppm", sub->level, 2);
        json_key(j, "limit_ppm");
        if (sub->has_limit)
            json_decimal(j, sub->limit, 2);
        else
            json_null(j);
        json_put_string(j, "source", sub->source);
        json_put_string(j, "verdict", !sub->has_limit ? NULL : verdict_text(sub->above ? VERDICT_OVER : VERDICT_IN));
        json_close(j, '}');
    }
    json_close(j, ']');
}

static void put_step(struct json *j, const struct batch_report *b, const struct batch_step *done)
{
    const struct step *step = done->index == NO_STEP ? NULL : &b->formula.steps[done->index];
    json_open(j, '{');
    json_put_int(j, "seq", done->seq);
    put_moment(j, "utc", done->us);
    json_put_string(j, "kind", record_kind_text((enum record_kind)done->r.kind));
    json_put_id(j, "item", done->r.item);
    json_put_string(j, "person", done->r.person);
    json_put_string(j, "step", step ? step->key : NULL);
    json_put_string(j, "text", step ? step->text[0] : NULL);
    if (done->r.kind == REC_CHECKED) {
        put_decimal(j, "value", done->r.value_milli, 3);
        json_put_string(j, "unit", step ? step->unit : NULL);
        json_put_milli(j, "low", step ? step->low_milli : CHECK_NONE);
        json_put_milli(j, "high", step ? step->high_milli : CHECK_NONE);
        json_put_string(j, "verdict", verdict_text((enum verdict)done->r.verdict));
        json_put_string(j, "reason", done->r.reason);
    }
    json_close(j, '}');
}

static void put_event(struct json *j, const struct batch_report *b, const struct batch_event *ev)
{
    char words[WORDS_MAX];
    json_open(j, '{');
    json_put_int(j, "seq", ev->seq);
    put_moment(j, "utc", ev->us);
    json_put_string(j, "kind", ev->notice ? "notice" : record_kind_text((enum record_kind)ev->r.kind));
    json_put_string(j, "code", ev->code);
    json_put_id(j, "item", ev->r.item);
    json_put_string(j, "scale", ev->scale);
    json_put_grams_if(j, "mass_g", ev->has_mass, ev->mass);
    json_put_string(j, "person", ev->r.person);
    json_put_string(j, "reason", ev->r.reason);
    json_put_string(j, "text", words_event(b, ev, words));
    json_close(j, '}');
}

static void put_course(struct json *j, const struct batch_report *b)
{
    json_key(j, "steps");
    json_open(j, '[');
    for (unsigned k = 0; k < b->step_count; k++)
        put_step(j, b, &b->steps[k]);
    json_close(j, ']');
    json_key(j, "happened");
    json_open(j, '[');
    for (unsigned k = 0; k < b->event_count; k++)
        put_event(j, b, &b->events[k]);
    json_close(j, ']');
    json_put_int(j, "happened_left_out", b->events_left_out);
}

/* Built whole before anything is written: a reader gets one good line or none. */
bool show_json(const struct batch_report *b, FILE *to)
{
    char *buf = malloc(SHOW_MAX);
    struct json j;
    if (!buf)
        return false;
    json_begin(&j, buf, SHOW_MAX);
    json_open(&j, '{');
    put_head(&j, b);
    put_persons(&j, b);
    put_lines(&j, b);
    put_sums(&j, b);
    put_substances(&j, b);
    put_course(&j, b);
    json_close(&j, '}');
    bool whole = json_finish(&j);
    if (whole)
        fprintf(to, "%s\n", buf);
    free(buf);
    return whole;
}
