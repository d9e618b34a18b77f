/* JSON text back to a record, by one table of keys. */
#include <string.h>

#include "store/inside.h"
#include "store/payload.h"

enum field_type { ID, MASS, FLAG, TEXT, VERDICT, MANNER, STATE, BASIS, VALUE, SCALE, INGREDIENT, STEP, NOTICE };

struct field {
    const char *key;
    uint8_t type;
    uint16_t offset, cap;
};

#define AT(key, type, member)                                                                                          \
    {                                                                                                                  \
        key, type, offsetof(struct record, member), sizeof(((struct record *)0)->member)                               \
    }
static const struct field fields[] = {
    AT("item", ID, item),           AT("parent", ID, parent),
    AT("next", ID, next),           AT("ingredient", INGREDIENT, ingredient),
    AT("scale", SCALE, scale),      AT("step", STEP, step),
    AT("gross_pg", MASS, gross),    AT("tare_pg", MASS, tare),
    AT("target_pg", MASS, target),  AT("low_pg", MASS, low),
    AT("high_pg", MASS, high),      AT("actual_pg", MASS, net),
    AT("net_pg", MASS, net),        AT("lot", TEXT, lot),
    AT("next_lot", TEXT, next_lot), AT("second", TEXT, second),
    AT("reason", TEXT, reason),     AT("verdict", VERDICT, verdict),
    AT("manner", MANNER, manner),   AT("state", STATE, state),
    AT("basis", BASIS, basis),      AT("value", VALUE, value_milli),
    AT("disputed", FLAG, disputed), AT("known", FLAG, known),
    AT("zero_pg", MASS, net),       AT("asked", FLAG, asked),
    AT("why", NOTICE, why),         AT("agreed", FLAG, agreed),
};
#undef AT
#define AT(key, member)                                                                                                \
    {                                                                                                                  \
        key, TEXT, offsetof(struct batch_texts, member), sizeof(((struct batch_texts *)0)->member)                     \
    }
#define NUMBER(key, member)                                                                                            \
    {                                                                                                                  \
        key, ID, offsetof(struct batch_texts, member), 0                                                               \
    }
static const struct field text_fields[] = {
    AT("formula", formula_id),      AT("formula_name", formula_name), AT("formula_text", formula),
    AT("station_text", station),    AT("limits_text", limits),        AT("people_text", people),
    NUMBER("batch_number", number), NUMBER("batches", batches),
};
#undef AT
#undef NUMBER

static void take_value(sqlite3_stmt *row, struct payload_field *f)
{
    const char *type = (const char *)sqlite3_column_text(row, 1);
    f->text = "";
    f->number = 0;
    if (!strcmp(type, "null")) {
        f->type = PAYLOAD_NULL;
    } else if (!strcmp(type, "true") || !strcmp(type, "false")) {
        f->type = PAYLOAD_BOOL;
        f->number = sqlite3_column_int64(row, 2);
    } else if (sqlite3_column_type(row, 2) == SQLITE_INTEGER) {
        f->type = PAYLOAD_INT;
        f->number = sqlite3_column_int64(row, 2);
    } else if (sqlite3_column_type(row, 2) == SQLITE_FLOAT) { /* an integer beyond 64 bits as well */
        f->type = PAYLOAD_REAL;
        f->number = sqlite3_column_int64(row, 3);
    } else {
        f->type = !strcmp(type, "text") ? PAYLOAD_TEXT : PAYLOAD_OTHER;
        f->text = (const char *)sqlite3_column_text(row, 2);
    }
}

enum store_result payload_each(struct store *s, const char *payload,
                               bool (*each)(void *self, const struct payload_field *field), void *self)
{
    int rc;
    sqlite3_stmt *q = store_sql(s, SQL_FIELDS, &rc);
    if (!q)
        return store_fault(s, rc, NULL);
    sqlite3_bind_text(q, 1, payload, -1, SQLITE_STATIC);
    struct payload_field f;
    while ((rc = sqlite3_step(q)) == SQLITE_ROW) {
        f.key = (const char *)sqlite3_column_text(q, 0);
        take_value(q, &f);
        if (!f.key || !f.text || each(self, &f))
            break;
    }
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return rc == SQLITE_DONE || rc == SQLITE_ROW ? STORE_OK : STORE_BROKEN;
}

/* Keys that neither table has are passed over: `text`, `unit` and the like are there for people who read the journal. */
struct reading_back {
    const struct setup *setup;
    struct record *r;
    struct batch_texts *texts;
    bool bad;
};

/* The number of a word in one of core's lists; false if it is none of them. */
static bool word(enum field_type list, const char *text, uint8_t *out)
{
    for (unsigned k = 0; k < NOTICE_COUNT; k++) { /* the longest of the lists; beyond its end a list says "" */
        const char *due = list == VERDICT  ? verdict_text((enum verdict)k)
                          : list == MANNER ? manner_text((enum manner)k)
                          : list == NOTICE ? notice_text((enum notice_code)k)
                          : list == STATE  ? batch_state_text((enum batch_state)k)
                                           : meat_basis_text((enum meat_basis)k);
        if (*due && !strcmp(due, text)) {
            *out = (uint8_t)k;
            return true;
        }
    }
    return false;
}

/* By name and never by place: a station file of today may list its scales in another order. */
static bool name(const struct setup *setup, enum field_type list, const char *text, uint8_t *out)
{
    unsigned count = list == SCALE        ? setup->scale_count
                     : list == INGREDIENT ? setup->formula->ingredient_count
                                          : setup->formula->step_count;
    for (unsigned k = 0; k < count; k++) {
        const char *due = list == SCALE        ? setup->scales[k].name
                          : list == INGREDIENT ? setup->formula->ingredients[k].key
                                               : setup->formula->steps[k].key;
        if (!strcmp(due, text)) {
            *out = (uint8_t)k;
            return true;
        }
    }
    return false;
}

static bool take_text(const struct payload_field *f, char *out, size_t cap)
{
    size_t len = strlen(f->text);
    if (f->type != PAYLOAD_TEXT || len >= cap)
        return false;
    memcpy(out, f->text, len + 1);
    return true;
}

/* A whole value is written without a decimal point (72) and comes as an integer, any other (72.5) already in thousandths. */
static bool take_number(const struct field *field, const struct payload_field *f, void *out)
{
    if (field->type == VALUE) {
        int64_t factor = f->type == PAYLOAD_INT ? 1000 : 1;
        if ((f->type != PAYLOAD_INT && f->type != PAYLOAD_REAL) || f->number > INT32_MAX / factor ||
            f->number < INT32_MIN / factor)
            return false;
        *(int32_t *)out = (int32_t)(f->number * factor);
        return true;
    }
    if (f->type != PAYLOAD_INT || (field->type == ID && (f->number < 0 || f->number > UINT16_MAX)))
        return false;
    if (field->type == ID)
        *(uint16_t *)out = (uint16_t)f->number;
    else
        *(mass_pg *)out = f->number;
    return true;
}

static bool take(const struct reading_back *b, const struct field *field, const struct payload_field *f, void *base)
{
    void *out = (char *)base + field->offset;
    switch ((enum field_type)field->type) {
    case ID:
    case MASS:
    case VALUE:
        return take_number(field, f, out);
    case TEXT:
        return take_text(f, out, field->cap);
    case FLAG:
        *(bool *)out = f->number != 0;
        return f->type == PAYLOAD_BOOL;
    case SCALE:
    case INGREDIENT:
    case STEP:
        return f->type == PAYLOAD_TEXT && (!b->setup || name(b->setup, (enum field_type)field->type, f->text, out));
    default:
        return f->type == PAYLOAD_TEXT && word((enum field_type)field->type, f->text, out);
    }
}

static const struct field *find(const struct field *list, size_t count, const char *key)
{
    for (size_t i = 0; i < count; i++)
        if (!strcmp(list[i].key, key))
            return &list[i];
    return NULL;
}

static bool take_field(void *self, const struct payload_field *f)
{
    struct reading_back *b = self;
    if (f->type == PAYLOAD_NULL)
        return false;
    const struct field *field = find(fields, sizeof fields / sizeof fields[0], f->key);
    if (field)
        b->bad = !take(b, field, f, b->r);
    else if (b->texts && (field = find(text_fields, sizeof text_fields / sizeof text_fields[0], f->key)))
        b->bad = !take(b, field, f, b->texts);
    if (!strcmp(f->key, "target_pg"))
        b->r->has_band = true;
    if (!strcmp(f->key, "gross_pg"))
        b->r->has_gross = b->r->kind == REC_WEIGHED;
    return b->bad;
}

static bool kind_of(const char *text, uint8_t *kind)
{
    for (int k = 0; k < REC_COUNT; k++)
        if (!strcmp(record_kind_text((enum record_kind)k), text)) {
            *kind = (uint8_t)k;
            return true;
        }
    return false;
}

enum store_result payload_read(struct store *s, const struct entry *e, const struct setup *setup, struct record *out,
                               struct batch_texts *texts)
{
    struct reading_back b = {.setup = setup, .r = out, .texts = texts};
    /* What a payload leaves out (payload_write's `always`) is what a record has when nothing is meant. */
    memset(out, 0, sizeof *out);
    if (texts)
        memset(texts, 0, sizeof *texts);
    if (!kind_of(e->kind, &out->kind))
        return STORE_NONE;
    if (out->kind != REC_STARTED)
        b.texts = NULL;
    out->scale = NO_SCALE;
    out->ingredient = NO_INGREDIENT;
    out->step = NO_STEP;
    out->state = BATCH_RUNNING;
    if (strlen(e->person) >= sizeof out->person)
        return STORE_BROKEN;
    memcpy(out->person, e->person, strlen(e->person) + 1);
    enum store_result r = payload_each(s, e->payload, take_field, &b);
    return r == STORE_OK && b.bad ? STORE_BROKEN : r;
}
