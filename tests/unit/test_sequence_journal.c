/* Random batches into a real journal and out again: what comes back are the records that went in, and the batch record
 * that the report makes of them agrees with the state that core has at the end. */
#define main walk_main
#include "tests/unit/test_sequence_walk.c"
#undef main

#include <unistd.h>

#include "report/batch.h"

#define EPISODES 80

int walk_main(void);

static struct store *journal;
static char why[STORE_WHY];

static void name_what_has_no_name(void)
{
    for (uint8_t k = 0; k < B.formula.step_count; k++)
        snprintf(B.formula.steps[k].key, CAP_KEY, "step-%u", k);
    for (uint8_t k = 0; k < B.setup.scale_count; k++)
        snprintf(B.scales[k].name, CAP_KEY, "scale-%u", k);
}

static void write_down(const char *batch)
{
    static struct batch_texts texts;
    static char payload[PAYLOAD_MAX];
    for (unsigned k = 0; k < B.stored_count; k++) {
        const struct record *r = &B.stored[k];
        assert_true(payload_write(r, &B.setup, r->kind == REC_STARTED ? &texts : NULL, payload, sizeof payload));
        struct entry e = {.utc_us = INT64_C(1764050400000000) + k,
                          .mono_us = k,
                          .kind = record_kind_text((enum record_kind)r->kind),
                          .batch = batch,
                          .person = r->person,
                          .payload = payload};
        if (store_append(journal, &e, NULL, why) != STORE_OK)
            fail_msg("%s", why);
    }
}

struct comparing {
    unsigned seen;
};

/* What a record says is not meant has no place in the journal. */
static struct record as_meant(const struct record *r)
{
    struct record m = *r;
    m.has_gross = r->has_gross && r->kind == REC_WEIGHED;
    if (!r->has_band)
        m.target = m.low = m.high = 0;
    if (r->kind == REC_WEIGHED && !r->has_gross)
        m.gross = m.tare = 0;
    if (r->kind != REC_ADDED && r->kind != REC_INSTRUCTED && r->kind != REC_CHECKED)
        m.step = NO_STEP;
    return m;
}

static bool compare(void *self, const struct entry *e)
{
    struct comparing *c = self;
    struct record back, due = as_meant(&B.stored[c->seen++]);
    assert_int_equal(payload_read(journal, e, &B.setup, &back, NULL), STORE_OK);
    if (memcmp(&back, &due, sizeof due) != 0)
        fail_msg("record %u did not come back: %s", c->seen, e->payload);
    return false;
}

static bool counts(const struct item *it)
{
    return it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER;
}

static void agree(const struct batch_report *b)
{
    mass_pg total = 0;
    for (uint16_t k = 0; k < B.s.item_count; k++) {
        const struct item *it = &B.s.items[k];
        if (it->kind != ITEM_MEAT && it->kind != ITEM_WEIGH)
            continue;
        const struct batch_line *line = batch_line_of(b, it->id);
        bool stands = line && !line->discarded_us;
        if (stands != counts(it) || (stands && (line->added_us != 0) != (it->status == ITEM_IN_MIXER)))
            fail_msg("item %u has status %u; its line: %d discarded %d added %d", it->id, it->status, line != NULL,
                     line && line->discarded_us, line && line->added_us);
        assert_true(!line || !line->discarded_us || !line->added_us);
        if (stands) {
            assert_true(line->r.net == it->net && line->index == it->ingredient);
            total += it->net;
        }
    }
    assert_true(b->total == total);
    assert_int_equal(b->state, B.s.state);
    assert_int_equal(b->unreadable, 0);
}

static void test_walk_into_the_journal(void **state)
{
    struct batch_report *b = calloc(1, sizeof *b);
    (void)state;
    assert_non_null(b);
    for (unsigned n = 0; n < EPISODES; n++) {
        seed = (n + 1001) * 0x9E3779B97F4A7C15u;
        episode();
        if (B.stored_count == 0)
            continue;
        memset(b, 0, sizeof *b);
        snprintf(b->id, sizeof b->id, "b%u", n);
        name_what_has_no_name();
        write_down(b->id);
        struct comparing c = {0};
        assert_int_equal(store_each(journal, b->id, compare, &c), STORE_OK);
        assert_int_equal(c.seen, B.stored_count);
        b->formula = B.formula;
        assert_int_equal(batch_collect(journal, b), STORE_OK);
        agree(b);
    }
    free(b);
}

int main(void)
{
    char folder[200], path[256], command[300];
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_walk_into_the_journal)};
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/tareline-walk-XXXXXX", tmp ? tmp : "/tmp");
    if (!mkdtemp(folder))
        return 1;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    if (store_open(&journal, path, STORE_WRITE, why) != STORE_OK)
        return 1;
    int failed = cmocka_run_group_tests_name("sequence_journal", tests, NULL, NULL);
    store_close(journal);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) == 0 ? failed : 1;
}
