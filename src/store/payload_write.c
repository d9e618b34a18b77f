/* A record as JSON text. What a kind does not name is left out; a weighing always has all of its keys. */
#include "core/json.h"
#include "store/payload.h"

const char *meat_basis_text(enum meat_basis basis)
{
    static const char *const text[] = {"weighed", "declared", "planned"};
    return (unsigned)basis <= BASIS_PLANNED ? text[basis] : "";
}

/* `always` in what follows: a weighing shows the key even when there is nothing to say, as null or "". */
static void put_id(struct json *j, const char *key, uint16_t id, bool always)
{
    if (id)
        json_put_int(j, key, id);
    else if (always)
        json_put_null(j, key);
}

static void put_text(struct json *j, const char *key, const char *text, bool always)
{
    if (*text || always)
        json_put_string(j, key, text);
}

static void put_mass(struct json *j, const char *key, mass_pg mass, bool meant, bool always)
{
    if (meant)
        json_put_int(j, key, mass);
    else if (always)
        json_put_null(j, key);
}

static void put_flag(struct json *j, const char *key, bool flag)
{
    if (flag)
        json_put_bool(j, key, true);
}

static void put_names(struct json *j, const struct record *r, const struct setup *setup, bool always)
{
    const char *ingredient = "", *scale = "";
    if (r->ingredient != NO_INGREDIENT && r->ingredient < setup->formula->ingredient_count)
        ingredient = setup->formula->ingredients[r->ingredient].key;
    if (r->scale != NO_SCALE && r->scale < setup->scale_count)
        scale = setup->scales[r->scale].name;
    put_text(j, "ingredient", ingredient, always);
    put_text(j, "lot", r->lot, always);
    put_text(j, "scale", scale, always);
}

static void put_masses(struct json *j, const struct record *r)
{
    bool weighed = r->kind == REC_WEIGHED;
    put_mass(j, "gross_pg", r->gross, r->has_gross || (!weighed && r->gross != 0), weighed);
    put_mass(j, "tare_pg", r->tare, r->has_gross || (!weighed && r->tare != 0), weighed);
    put_mass(j, "target_pg", r->target, r->has_band, weighed);
    put_mass(j, "low_pg", r->low, r->has_band, weighed);
    put_mass(j, "high_pg", r->high, r->has_band, weighed);
    put_mass(j,
             weighed                ? "actual_pg"
             : r->kind == REC_TARED ? "zero_pg"
                                    : "net_pg",
             r->net, weighed || r->net != 0, false);
}

/* The words of the step, so that the entry can be read without the formula. */
static void put_step(struct json *j, const struct record *r, const struct setup *setup)
{
    if (r->kind != REC_ADDED && r->kind != REC_INSTRUCTED && r->kind != REC_CHECKED)
        return;
    if (r->step < setup->formula->step_count) {
        const struct step *step = &setup->formula->steps[r->step];
        json_put_string(j, "step", step->key);
        put_text(j, "text", step->text[0], false);
        if (r->kind == REC_CHECKED) {
            json_put_string(j, "unit", step->unit);
            json_put_milli(j, "low", step->low_milli);
            json_put_milli(j, "high", step->high_milli);
        }
    }
}

static void put_words(struct json *j, const struct record *r)
{
    bool weighed = r->kind == REC_WEIGHED;
    if (r->kind == REC_CHECKED || r->value_milli) {
        json_key(j, "value");
        json_decimal(j, r->value_milli, 3);
    }
    if (weighed || r->kind == REC_CHECKED || r->verdict)
        json_put_string(j, "verdict", verdict_text((enum verdict)r->verdict));
    if (weighed || r->manner)
        json_put_string(j, "manner", manner_text((enum manner)r->manner));
    if (r->kind == REC_STATE || r->state != BATCH_RUNNING)
        json_put_string(j, "state", batch_state_text((enum batch_state)r->state));
    if (r->kind == REC_STARTED || r->kind == REC_BASIS || r->basis)
        json_put_string(j, "basis", meat_basis_text((enum meat_basis)r->basis));
    if (r->kind == REC_EMPTIED)
        json_put_string(j, "why", notice_text((enum notice_code)r->why));
    put_text(j, "reason", r->reason, weighed);
    put_text(j, "second", r->second, false);
    put_id(j, "next", r->next, false);
    put_text(j, "next_lot", r->next_lot, false);
    put_flag(j, "disputed", r->disputed);
    put_flag(j, "agreed", r->agreed);
    put_flag(j, "known", r->known);
    put_flag(j, "asked", r->asked);
}

static void put_texts(struct json *j, const struct batch_texts *texts)
{
    json_put_string(j, "formula", texts->formula_id);
    json_put_string(j, "formula_name", texts->formula_name);
    json_put_string(j, "formula_text", texts->formula);
    json_put_string(j, "station_text", texts->station);
    json_put_string(j, "limits_text", texts->limits);
    json_put_string(j, "people_text", texts->people);
    put_id(j, "batch_number", texts->number, false);
    put_id(j, "batches", texts->batches, false);
}

bool payload_write(const struct record *r, const struct setup *setup, const struct batch_texts *texts, char *buf,
                   size_t cap)
{
    struct json j;
    bool weighed = r->kind == REC_WEIGHED;
    json_begin(&j, buf, cap);
    json_open(&j, '{');
    put_id(&j, "item", r->item, weighed);
    put_id(&j, "parent", r->parent, weighed);
    put_names(&j, r, setup, weighed);
    put_masses(&j, r);
    put_step(&j, r, setup);
    put_words(&j, r);
    if (texts)
        put_texts(&j, texts);
    json_close(&j, '}');
    return json_finish(&j);
}
