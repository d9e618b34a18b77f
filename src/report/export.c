/* Export: see export.h. Payloads are laid flat as they are, key by key, so what a later version adds is exported too (JSON). */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "core/json.h"
#include "report/csv.h"
#include "report/export.h"
#include "report/when.h"
#include "store/payload.h"

/* A kept text is at most 64 KiB, each byte of it at most six in JSON. */
#define EXPORT_LINE 524288

/* Other programs' sheets go by these: new ones only at the end. */
static const char *const columns[] = {
    "seq",    "utc",     "kind",         "batch",        "person",       "item",        "parent",      "ingredient",
    "lot",    "scale",   "gross_g",      "tare_g",       "target_g",     "low_g",       "high_g",      "actual_g",
    "net_g",  "verdict", "manner",       "reason",       "second",       "next",        "next_lot",    "disputed",
    "known",  "step",    "text",         "unit",         "low",          "high",        "value",       "state",
    "basis",  "formula", "formula_name", "formula_text", "station_text", "limits_text", "people_text", "code",
    "mass_g", "name",    "hash",         "agreed",       "zero_g",       "asked",       "why",
};
#define COLUMNS (sizeof columns / sizeof columns[0])

struct exporter {
    struct store *store;
    FILE *to;
    struct json json;
    const char *cells[COLUMNS]; /* CSV: into buf; NULL = empty */
    size_t used;
    bool bad, any;
    char buf[EXPORT_LINE];
};

/* gross_pg is told as gross_g. False: no mass. */
static bool mass_key(const struct payload_field *f, char key[CAP_KEY])
{
    size_t len = strlen(f->key);
    if (len < 4 || len >= CAP_KEY || strcmp(f->key + len - 3, "_pg") != 0)
        return false;
    memcpy(key, f->key, len - 2);
    memcpy(key + len - 2, "g", 2);
    return true;
}

static bool field_to_json(void *self, const struct payload_field *f)
{
    struct exporter *x = self;
    char key[CAP_KEY];
    bool mass = mass_key(f, key);
    json_key(&x->json, mass ? key : f->key);
    switch ((enum payload_type)f->type) {
    case PAYLOAD_NULL:
        json_null(&x->json);
        break;
    case PAYLOAD_BOOL:
        json_bool(&x->json, f->number != 0);
        break;
    case PAYLOAD_INT:
        if (mass)
            json_grams(&x->json, f->number);
        else
            json_int(&x->json, f->number);
        break;
    case PAYLOAD_REAL:
        json_decimal(&x->json, f->number, 3);
        break;
    default:
        json_string(&x->json, f->text);
    }
    return false;
}

static bool entry_to_json(void *self, const struct entry *e)
{
    struct exporter *x = self;
    char utc[WHEN_TEXT];
    x->any = true;
    when_utc(e->utc_us, utc);
    json_begin(&x->json, x->buf, sizeof x->buf);
    json_open(&x->json, '{');
    json_put_int(&x->json, "seq", e->seq);
    json_put_string(&x->json, "utc", utc);
    json_put_string(&x->json, "kind", e->kind);
    json_put_string(&x->json, "batch", e->batch);
    json_put_string(&x->json, "person", e->person);
    x->bad = payload_each(x->store, e->payload, field_to_json, x) != STORE_OK;
    json_close(&x->json, '}');
    x->bad = !json_finish(&x->json) || x->bad;
    if (!x->bad)
        fprintf(x->to, "%s\n", x->buf);
    return x->bad || ferror(x->to);
}

/* Keeps a cell's text until its row is written. Keys without a column are of later versions: left out. */
static void set_cell(struct exporter *x, const char *key, const char *text)
{
    size_t len = strlen(text) + 1;
    for (size_t i = 0; i < COLUMNS; i++) {
        if (strcmp(columns[i], key) != 0)
            continue;
        if (len > sizeof x->buf - x->used) {
            x->bad = true;
            return;
        }
        x->cells[i] = memcpy(x->buf + x->used, text, len);
        x->used += len;
        return;
    }
}

static bool field_to_cell(void *self, const struct payload_field *f)
{
    struct exporter *x = self;
    char key[CAP_KEY], text[MASS_TEXT_MAX] = "";
    struct json number;
    bool mass = mass_key(f, key);
    json_begin(&number, text, sizeof text);
    switch ((enum payload_type)f->type) {
    case PAYLOAD_NULL:
        return false;
    case PAYLOAD_BOOL:
        set_cell(x, f->key, f->number ? "true" : "false");
        return x->bad;
    case PAYLOAD_INT:
        if (mass)
            json_grams(&number, f->number);
        else
            json_int(&number, f->number);
        break;
    case PAYLOAD_REAL:
        json_decimal(&number, f->number, 3);
        break;
    default:
        set_cell(x, f->key, f->text);
        return x->bad;
    }
    (void)json_finish(&number);
    set_cell(x, mass ? key : f->key, text);
    return x->bad;
}

static bool entry_to_csv(void *self, const struct entry *e)
{
    struct exporter *x = self;
    char utc[WHEN_TEXT], seq[24];
    memset(x->cells, 0, sizeof x->cells);
    x->used = 0;
    x->any = true;
    when_utc(e->utc_us, utc);
    snprintf(seq, sizeof seq, "%" PRId64, e->seq);
    set_cell(x, "seq", seq);
    set_cell(x, "utc", utc);
    set_cell(x, "kind", e->kind);
    set_cell(x, "batch", e->batch);
    set_cell(x, "person", e->person);
    x->bad = payload_each(x->store, e->payload, field_to_cell, x) != STORE_OK || x->bad;
    if (!x->bad)
        csv_row(x->to, x->cells, COLUMNS);
    return x->bad || ferror(x->to);
}

enum store_result export_entries(struct store *s, const char *batch, enum export_form form, FILE *to)
{
    struct exporter *x = calloc(1, sizeof *x);
    if (!x)
        return STORE_SYSTEM;
    x->store = s;
    x->to = to;
    if (form == EXPORT_CSV)
        csv_row(to, columns, COLUMNS);
    enum store_result r = store_each(s, batch, form == EXPORT_CSV ? entry_to_csv : entry_to_json, x);
    if (r == STORE_OK && x->bad)
        r = STORE_BROKEN;
    if (r == STORE_OK && batch && !x->any)
        r = STORE_NONE;
    free(x);
    return r;
}
