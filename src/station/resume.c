/* The open batch: found in the journal, put on the tape, and its entries applied. What it began with, load.c goes on with. */
#include <inttypes.h>
#include <string.h>

#include "station/inside.h"

/* A batch's first entry; a true return ends the walk there. */
static bool take_started(void *self, const struct entry *e)
{
    struct opening *o = self;
    o->found = !strcmp(e->kind, record_kind_text(REC_STARTED)) &&
               payload_read(o->w->store, e, &o->w->setup, &o->record, &o->texts) == STORE_OK;
    return true;
}

static int other_formula(const struct weigher *w, const struct opening *o)
{
    fprintf(stderr,
            "tareline: batch %s of formula %s is open at this station; go on with it (tareline weigh %s) and complete, "
            "stop or abort it first\n",
            w->batch, o->texts.formula_id, o->texts.formula_id);
    return EXIT_NO;
}

/* NAME, FOLDER/NAME.ini and the like against an id. */
static bool named_so(const char *asked, const char *id)
{
    const char *slash = strrchr(asked, '/'), *base = slash ? slash + 1 : asked;
    size_t n = strlen(base);
    n -= n > 4 && !strcmp(base + n - 4, ".ini") ? 4 : 0;
    return n == strlen(id) && !strncmp(base, id, n);
}

/* The formula that was asked for must be the open batch's; its id decides, its present text does not. Where its file is gone,
 * its name does. */
static int same_formula(struct weigher *w, const struct opening *o)
{
    static struct file_text text; /* too large for the stack; read once at the start */
    static struct formula asked;
    char path[FILE_PATH];
    if (!file_find("formulas", w->args->formula, path, &w->faults) || !file_read(path, &text, &w->faults)) {
        if (!named_so(w->args->formula, o->texts.formula_id))
            return load_wrong(w);
        memset(&w->faults, 0, sizeof w->faults);
        return EXIT_DONE;
    }
    if (!formula_read(&text, &asked, &w->faults)) {
        if (asked.id[0] && !strcmp(asked.id, o->texts.formula_id)) {
            memset(&w->faults, 0, sizeof w->faults); /* broken since: the batch goes on with the text it began with */
            return EXIT_DONE;
        }
        return load_wrong(w);
    }
    return strcmp(asked.id, o->texts.formula_id) ? other_formula(w, o) : EXIT_DONE;
}

/* Before anything is loaded: an open batch decides which formula may be weighed, and on which texts it goes on. */
int resume_look(struct weigher *w, struct opening *o)
{
    if (store_last_closed(w->store, w->last_batch, w->last_state) != STORE_OK ||
        store_open_batch(w->store, w->batch) != STORE_OK) {
        fputs("tareline: the journal's batches can't be read; run: tareline records verify\n", stderr);
        return EXIT_JOURNAL;
    }
    if (!w->batch[0])
        return EXIT_DONE;
    (void)store_each(w->store, w->batch, take_started, o);
    if (!o->found) {
        fprintf(stderr,
                "tareline: the journal's open batch %s does not begin as it should; run: tareline records verify\n",
                w->batch);
        return EXIT_JOURNAL;
    }
    w->resumed = true;
    return same_formula(w, o);
}

/* What a resumed batch needs beside its texts: on the tape before them. */
void resume_to_tape(struct weigher *w, const struct opening *o)
{
    tape_write(&w->tape, "last %s %s", w->last_batch[0] ? w->last_batch : "-", w->last_state[0] ? w->last_state : "-");
    if (w->resumed)
        tape_write(&w->tape, "open %s %d %" PRId64 " %s", w->batch, o->record.basis, o->record.net,
                   o->texts.station[0] ? o->texts.station : "-");
    if (o->texts.number)
        tape_write(&w->tape, "number %u %u", o->texts.number, o->texts.batches);
}

/* Begun as the third of five, it is still the third when the same five are asked for again. Another figure is another wish,
 * and counts from the open batch on. */
unsigned resume_left(const struct weigher *w, const struct opening *o)
{
    const struct batch_texts *t = &o->texts;
    unsigned wanted = w->args->batches;
    bool same = w->resumed && t->batches == wanted && t->number > 0 && t->number <= wanted;
    return same ? wanted - t->number + 1 : wanted;
}

bool resume_from_tape(struct weigher *w, struct opening *o)
{
    const char *rest = tape_expect(&w->tape, "last");
    char station[65] = "-";
    int64_t basis = 0;
    if (!rest || !tape_word(&rest, w->last_batch, sizeof w->last_batch) ||
        !tape_word(&rest, w->last_state, sizeof w->last_state))
        return false;
    if (!strcmp(w->last_batch, "-"))
        w->last_batch[0] = w->last_state[0] = '\0';
    rest = tape_expect(&w->tape, "open");
    if (!rest)
        return true;
    w->resumed = true;
    if (!tape_word(&rest, w->batch, sizeof w->batch) || !tape_int(&rest, &basis) || !tape_int(&rest, &o->record.net) ||
        !tape_word(&rest, station, sizeof station))
        return false;
    o->record.basis = (uint8_t)basis;
    if (strcmp(station, "-") != 0)
        memcpy(o->texts.station, station, sizeof station);
    int64_t number = 0, batches = 0;
    rest = tape_expect(&w->tape, "number");
    if (rest && (!tape_int(&rest, &number) || !tape_int(&rest, &batches)))
        return false;
    o->texts.number = (uint16_t)number;
    o->texts.batches = (uint16_t)batches;
    return true;
}

struct resuming {
    struct weigher *w;
    int64_t seq;
    bool wrong;
};

/* The same records through the same sequence_apply as while weighing. They go onto the tape too, since a replay has no
 * journal to read them from. */
static bool apply_entry(void *self, const struct entry *e)
{
    struct resuming *r = self;
    struct weigher *w = r->w;
    static struct record record; /* one at a time */
    r->seq = e->seq;
    tape_write(&w->tape, "e %" PRId64 " %s %s", e->seq, e->kind, e->payload);
    enum store_result read = payload_read(w->store, e, &w->setup, &record, NULL);
    if (read == STORE_NONE)
        return false; /* not a core record: a notice */
    r->wrong = read != STORE_OK || sequence_apply(&w->seq, &record) != FAIL_NONE;
    return r->wrong;
}

static void replay_entries(struct resuming *r)
{
    const char *line;
    while (!r->wrong && (line = tape_expect(&r->w->tape, "e")) != NULL) {
        char kind[16];
        int64_t seq = 0;
        r->wrong = !tape_int(&line, &seq) || !tape_word(&line, kind, sizeof kind);
        struct entry e = {.seq = seq, .kind = kind, .batch = r->w->batch, .person = "", .payload = line};
        r->wrong = r->wrong || apply_entry(r, &e);
    }
}

int resume_entries(struct weigher *w)
{
    struct resuming r = {.w = w};
    if (!w->resumed) {
        load_batch_id(w);
        return EXIT_DONE;
    }
    if (w->tape.reading)
        replay_entries(&r);
    else
        (void)store_each(w->store, w->batch, apply_entry, &r);
    if (!r.wrong)
        return EXIT_DONE;
    fprintf(stderr, "tareline: entry %" PRId64 " of the open batch %s does not fit it; run: tareline records verify\n",
            r.seq, w->batch);
    return EXIT_JOURNAL;
}
