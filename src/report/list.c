/* List: see list.h. A batch's formula is told by its STARTED entry, so the list needs no formula file. */
#include <inttypes.h>
#include <string.h>

#include "core/json.h"
#include "report/csv.h"
#include "report/list.h"
#include "report/page.h"
#include "report/when.h"
#include "store/payload.h"

struct lister {
    struct store *store;
    FILE *to;
    enum list_form form;
    int64_t count;
    struct batch_texts texts;
    char line[2048];
};

static void as_text(struct lister *l, const struct store_batch *b)
{
    char started[WHEN_TEXT];
    struct page page = {.to = l->to};
    if (l->count == 1)
        fprintf(l->to, "%-22s %-19s %-9s %s\n", "BATCH", "STARTED (UTC)", "STATE", "FORMULA");
    when_read_utc(b->started_us, started);
    page_cell(&page, b->batch, 22);
    page_cell(&page, started, 19);
    page_cell(&page, b->state, 9);
    page_end_cell(&page, l->texts.formula_name, 27);
}

static void as_json(struct lister *l, const struct store_batch *b, const char *started, const char *newest)
{
    struct json j;
    json_begin(&j, l->line, sizeof l->line);
    json_open(&j, '{');
    json_put_string(&j, "batch", b->batch);
    json_put_string(&j, "formula", l->texts.formula_id);
    json_put_string(&j, "formula_name", l->texts.formula_name);
    json_put_string(&j, "state", b->state);
    json_put_string(&j, "person", b->person);
    json_put_string(&j, "started", started);
    json_put_string(&j, "newest", newest);
    json_put_int(&j, "first_seq", b->first_seq);
    json_put_int(&j, "last_seq", b->last_seq);
    json_close(&j, '}');
    if (json_finish(&j))
        fprintf(l->to, "%s\n", l->line);
}

static void as_csv(struct lister *l, const struct store_batch *b, const char *started, const char *newest)
{
    static const char *const head[] = {"batch",   "formula", "formula_name", "state",   "person",
                                       "started", "newest",  "first_seq",    "last_seq"};
    char first[24], last[24];
    snprintf(first, sizeof first, "%" PRId64, b->first_seq);
    snprintf(last, sizeof last, "%" PRId64, b->last_seq);
    const char *const row[] = {
        b->batch, l->texts.formula_id, l->texts.formula_name, b->state, b->person, started, newest, first, last};
    if (l->count == 1)
        csv_row(l->to, head, sizeof head / sizeof head[0]);
    csv_row(l->to, row, sizeof row / sizeof row[0]);
}

static bool list_one(void *self, const struct store_batch *b)
{
    struct lister *l = self;
    char started[WHEN_TEXT], newest[WHEN_TEXT];
    struct record r;
    struct entry e = {
        .kind = record_kind_text(REC_STARTED), .batch = b->batch, .person = b->person, .payload = b->payload};
    when_utc(b->started_us, started);
    when_utc(b->newest_us, newest);
    l->count++;
    if (payload_read(l->store, &e, NULL, &r, &l->texts) != STORE_OK)
        memset(&l->texts, 0, sizeof l->texts); /* verify says what is wrong with it */
    if (l->form == LIST_TEXT)
        as_text(l, b);
    else if (l->form == LIST_JSON)
        as_json(l, b, started, newest);
    else
        as_csv(l, b, started, newest);
    return ferror(l->to) != 0;
}

enum store_result list_batches(struct store *s, enum list_form form, FILE *to, int64_t *count)
{
    struct lister l = {.store = s, .to = to, .form = form};
    enum store_result r = store_batches(s, list_one, &l);
    *count = l.count;
    return r;
}

/* Walks all: each takes the place of the one before, so the last one stays. */
static bool take_id(void *self, const struct store_batch *b)
{
    snprintf(self, STORE_BATCH, "%s", b->batch);
    return false;
}

enum store_result list_newest(struct store *s, char batch[STORE_BATCH])
{
    batch[0] = '\0';
    return store_batches(s, take_id, batch);
}
