/* Files and arguments into the setup of a batch. Every text passes through text_of: read from disk and put on the tape, or
 * taken from the tape. An open batch goes on with the texts that it began with. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "station/inside.h"

#define CONTAINER_ROOM (2 * PG_PER_KG) /* where the station file says nothing */

static int files_wrong(struct weigher *w)
{
    faults_print(&w->faults, stderr);
    return EXIT_FILE;
}

/* A file is read once; from here on only the text is used, so that what is weighed by, captured and journalled is the same. */
static bool text_of(struct weigher *w, const char *role, const char *path, struct file_text *out)
{
    if (w->tape.reading) {
        long n = tape_read_text(&w->tape, role, out->path, sizeof out->path, out->text, sizeof out->text);
        out->len = n < 0 ? 0 : (size_t)n;
        if (n < 0)
            faults_add(&w->faults, w->args->replay, w->tape.line_number, "the text of the %s should come here", role);
        return n >= 0;
    }
    if (!file_read(path, out, &w->faults))
        return false;
    tape_write_text(&w->tape, role, path, out->text, out->len);
    return true;
}

/* A text that is kept in the journal, if the open batch began with one; else the file's. */
static bool kept_or_file(struct weigher *w, const char *role, const char *path, const char *hash, struct kept_text *out)
{
    if (!w->tape.reading && hash[0]) {
        int64_t n = store_text(w->store, hash, out->file.text, sizeof out->file.text);
        if (n < 0) {
            faults_add(&w->faults, "journal", 0, "the %s text that the open batch began with is not in it", role);
            return false;
        }
        out->file.len = (size_t)n;
        snprintf(out->file.path, sizeof out->file.path, "%s", path);
        tape_write_text(&w->tape, role, path, out->file.text, out->file.len);
    } else if (!text_of(w, role, path, &out->file)) {
        return false;
    }
    store_text_hash(out->file.text, out->file.len, out->hash);
    return true;
}

/* --scale arguments are part of what a batch began with: they are kept as comment lines below the station's text, under a
 * head of their own, since the plant's comments may look like them. */
#define NOTES_HEAD "# Arguments of the batch for which this text was kept:\n"
#define SCALE_NOTE "# --scale "

static void add_note(struct file_text *t, const char *what, const char *value, const char *end)
{
    int n = snprintf(t->text + t->len, sizeof t->text - t->len, "%s%s%s", what, value, end);
    if (n > 0 && (size_t)n < sizeof t->text - t->len)
        t->len += (size_t)n;
}

static void note_scales(struct weigher *w)
{
    struct file_text *t = &w->station_text.file;
    bool open_line = t->len && t->text[t->len - 1] != '\n';
    add_note(t, open_line ? "\n" : "", NOTES_HEAD, "");
    for (uint8_t k = 0; k < w->args->scale_count; k++)
        add_note(t, SCALE_NOTE, w->args->scales[k], "\n");
    store_text_hash(t->text, t->len, w->station_text.hash);
}

/* An open batch keeps the capacity and division that its targets were rounded to; only profile and device may change. */
static void noted_scales(struct weigher *w)
{
    char line[DEVICE_MAX + FILE_PATH];
    struct station_scale sc;
    const char *at = strstr(w->station_text.file.text, NOTES_HEAD);
    while (at && (at = strstr(at, SCALE_NOTE)) != NULL) {
        at += strlen(SCALE_NOTE);
        snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
        if (!scale_argument(line, &sc, &w->faults))
            return;
        for (uint8_t k = 0; k < w->station.scale_count; k++) {
            struct station_scale *have = &w->station.scales[k];
            if (strcmp(have->name, sc.name) != 0)
                continue;
            have->capacity = sc.capacity ? sc.capacity : have->capacity;
            have->division = sc.division ? sc.division : have->division;
        }
    }
}

static bool load_profile(struct weigher *w, uint8_t k)
{
    char path[FILE_PATH], role[CAP_KEY + 10];
    static struct file_text text; /* too large for the stack; read once at the start */
    struct station_scale *sc = &w->station.scales[k];
    snprintf(role, sizeof role, "profile:%s", sc->name);
    if (!w->tape.reading && !file_find("scales", sc->profile, path, &w->faults))
        return false;
    return text_of(w, role, path, &text) && profile_read(&text, &w->profiles[k], &w->faults);
}

static void set_scale(struct weigher *w, uint8_t k)
{
    const struct station_scale *sc = &w->station.scales[k];
    const struct profile *p = &w->profiles[k];
    struct scale_setup *out = &w->scale_setups[k];
    if (sc->capacity <= 0 || sc->division <= 0)
        faults_add(&w->faults, sc->name, 0,
                   "this scale has no capacity or no division; give both, in the station file or as "
                   "--scale %s=...,capacity=15kg,division=5g",
                   sc->name);
    memcpy(out->name, sc->name, sizeof out->name);
    out->capacity = sc->capacity;
    out->division = sc->division;
    out->min_load = class_min_load(sc->accuracy, sc->division);
    out->settle = settle_rule_for(p, sc->division);
    out->flow = flow_rule_for(p, sc->division);
}

static void load_scales(struct weigher *w)
{
    if (w->station.scale_count == 0)
        faults_add(&w->faults, w->args->station ? w->args->station : "arguments", 0,
                   "no scale is given; give one with --scale NAME=PROFILE@DEVICE or in a station file with --station");
    for (uint8_t k = 0; k < w->station.scale_count; k++)
        if (load_profile(w, k))
            set_scale(w, k);
}

/* Without --station a batch may have a kept station text all the same: the notes of its --scale arguments. */
static void load_station(struct weigher *w, const struct batch_texts *open)
{
    memset(&w->station, 0, sizeof w->station);
    w->station.container_max = CONTAINER_ROOM;
    char path[FILE_PATH] = "";
    if (w->args->station && !w->tape.reading && !file_find("stations", w->args->station, path, &w->faults))
        return;
    if (w->args->station || open->station[0]) {
        if (!kept_or_file(w, "station", path, open->station, &w->station_text))
            return;
        /* a text kept for arguments alone holds nothing but notes */
        bool notes_only = !strncmp(w->station_text.file.text, NOTES_HEAD, strlen(NOTES_HEAD));
        if (!notes_only && !station_read(&w->station_text.file, &w->station, &w->faults))
            return;
    }
    (void)station_argued_scales(&w->station, w->args->scales, w->args->scale_count, &w->faults);
    if (open->station[0])
        noted_scales(w);
    else if (w->args->scale_count)
        note_scales(w);
    load_scales(w);
}

static void load_limits(struct weigher *w, const struct batch_texts *open)
{
    struct file_text *text = &w->limits_text.file;
    bool regulated = false;
    for (uint8_t k = 0; k < w->formula.ingredient_count; k++)
        regulated = regulated || w->formula.ingredients[k].substance[0];
    memset(w->limits, 0, sizeof w->limits);
    if (!regulated)
        return;
    bool lacking = !w->station.limits[0] || !w->station.jurisdiction[0];
    if (lacking) {
        (void)limits_load(&w->station, &w->formula, text, w->limits, &w->faults); /* says what the station lacks */
        return;
    }
    char path[FILE_PATH] = "";
    if (!w->tape.reading && !file_find("limits", w->station.limits, path, &w->faults))
        return;
    if (kept_or_file(w, "limits", path, open->limits, &w->limits_text))
        (void)limits_read(text, w->station.jurisdiction, &w->formula, w->limits, &w->faults);
}

/* Never the kept text: who may do what is as the plant has it today, also in a batch that was begun before. */
static void load_people(struct weigher *w)
{
    if (!w->station.people[0])
        return;
    if (kept_or_file(w, "people", w->station.people, "", &w->people_text))
        w->setup.people = people_read(&w->people_text.file, &w->people, &w->faults);
    if (w->setup.people && w->args->person && !people_find(&w->people, w->args->person))
        faults_add(&w->faults, w->station.people, 0,
                   "nobody here has the code \"%s\" of --person; give the initials or number of somebody in this file",
                   w->args->person);
}

static void choose_basis(struct weigher *w)
{
    w->setup.basis = w->args->has_meat ? BASIS_DECLARED : w->formula.basis;
    w->setup.basis_mass = w->args->has_meat ? w->args->meat : w->formula.planned_meat;
    if (w->setup.basis == BASIS_WEIGHED)
        w->setup.basis_mass = 0;
}

static void set_up(struct weigher *w)
{
    w->setup.formula = &w->formula;
    w->setup.limits = w->limits;
    w->setup.scales = w->scale_setups;
    w->setup.scale_count = w->station.scale_count;
    w->setup.container_max = w->station.container_max;
    w->setup.cup_empty = w->cup_empty;
    w->setup.cup_off = w->cup_off;
    w->setup.second_person = w->station.second_person;
    w->setup.accept_auto = w->station.accept_auto;
    w->setup.accept_us = w->station.accept_ms * 1000u;
    for (uint8_t k = 0; k < w->formula.lang_count; k++)
        if (!strcmp(w->formula.lang[k], w->station.language))
            w->lang = k;
}

static void load_formula(struct weigher *w, const struct batch_texts *open)
{
    char path[FILE_PATH] = "";
    if (!w->tape.reading && !file_find("formulas", w->args->formula, path, &w->faults))
        return;
    if (kept_or_file(w, "formula", path, open->formula, &w->formula_text))
        (void)formula_read(&w->formula_text.file, &w->formula, &w->faults);
}

/* The open batch's STARTED entry. */
struct opening {
    struct weigher *w;
    struct batch_texts texts;
    struct record record;
    bool found;
};

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

/* The formula that was asked for must be the open batch's; its id decides, its present text does not. */
static int same_formula(struct weigher *w, const struct opening *o)
{
    static struct file_text text; /* too large for the stack; read once at the start */
    static struct formula asked;
    char path[FILE_PATH];
    if (!file_find("formulas", w->args->formula, path, &w->faults) || !file_read(path, &text, &w->faults))
        return files_wrong(w);
    if (!formula_read(&text, &asked, &w->faults)) {
        if (asked.id[0] && !strcmp(asked.id, o->texts.formula_id)) {
            memset(&w->faults, 0, sizeof w->faults); /* broken since: the batch goes on with the text it began with */
            return EXIT_DONE;
        }
        return files_wrong(w);
    }
    return strcmp(asked.id, o->texts.formula_id) ? other_formula(w, o) : EXIT_DONE;
}

static int look_for_open(struct weigher *w, struct opening *o)
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

static bool clock_is_set(const struct weigher *w)
{
    if (store_clock_set(w->utc))
        return true;
    fputs(
        "tareline: this machine's clock is not set (it shows a time before 2024), and every entry needs the true time; "
        "set it (for example: timedatectl set-time \"2026-11-25 06:00\") and start again\n",
        stderr);
    return false;
}

static void new_batch_id(struct weigher *w)
{
    int64_t seconds = w->utc / 1000000;
    struct tm tm;
    time_t t = (time_t)seconds;
    if (w->tape.reading) {
        const char *id = tape_expect(&w->tape, "id");
        snprintf(w->batch, sizeof w->batch, "%s", id ? id : "");
        return;
    }
    gmtime_r(&t, &tm);
    strftime(w->batch, sizeof w->batch, "%Y%m%d-%H%M%S", &tm);
    if (!strncmp(w->batch, w->last_batch, strlen(w->batch))) /* the last one began and ended in this very second */
        snprintf(w->batch, sizeof w->batch, "%.30s-b", w->last_batch);
    tape_write(&w->tape, "id %s", w->batch);
}

/* After the first batch of --batches: files, scales and readings stay, all of the sequence begins anew. */
void load_new_batch(struct weigher *w)
{
    struct scale_state scales[CAP_SCALES];
    memcpy(scales, w->seq.scales, sizeof scales); /* the platforms go on */
    snprintf(w->last_batch, sizeof w->last_batch, "%s", w->batch);
    snprintf(w->last_state, sizeof w->last_state, "%s", batch_state_text(BATCH_COMPLETE));
    new_batch_id(w);
    (void)sequence_init(&w->seq, &w->setup, w->items, w->order, CAP_ITEMS);
    memcpy(w->seq.scales, scales, sizeof scales);
    for (uint8_t k = 0; k < CAP_SCALES; k++)
        w->seq.scales[k].holds = 0;
}

static void tape_options(struct weigher *w)
{
    char hex[2 * STORE_HASH + 1];
    struct store_head head = store_head(w->store);
    tape_to_hex(head.hash, STORE_HASH, hex);
    for (uint8_t k = 0; k < w->args->scale_count; k++)
        tape_write(&w->tape, "scale %s", w->args->scales[k]);
    if (w->args->station)
        tape_write(&w->tape, "station %s", w->args->station);
    if (w->args->has_meat)
        tape_write(&w->tape, "meat %" PRId64, w->args->meat);
    if (w->args->person)
        tape_write(&w->tape, "person %s", w->args->person);
    if (w->args->readings)
        tape_write(&w->tape, "readings");
    tape_write(&w->tape, "batches %u", w->args->batches);
    tape_write(&w->tape, "start %" PRIu64 " %" PRId64, w->now, w->utc);
    tape_write(&w->tape, "head %" PRId64 " %s", head.seq, hex);
}

/* What a resumed batch needs beside its texts: on the tape before them. */
static void tape_opening(struct weigher *w, const struct opening *o)
{
    tape_write(&w->tape, "last %s %s", w->last_batch[0] ? w->last_batch : "-", w->last_state[0] ? w->last_state : "-");
    if (w->resumed)
        tape_write(&w->tape, "open %s %d %" PRId64 " %s", w->batch, o->record.basis, o->record.net,
                   o->texts.station[0] ? o->texts.station : "-");
}

static bool read_opening(struct weigher *w, struct opening *o)
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
    return true;
}

/* What can be known to be impossible before anything is asked: a declared or planned mass has all its targets now. */
static int lay_out(struct weigher *w)
{
    const char *path = w->formula_text.file.path;
    enum fail fail = sequence_init(&w->seq, &w->setup, w->items, w->order, CAP_ITEMS);
    if (fail == FAIL_FULL)
        fprintf(stderr, "tareline: %s: more than %d work items; nothing was begun\n", path, CAP_ITEMS);
    else if (fail == FAIL_RANGE)
        fprintf(stderr, "tareline: %s: the meat's mass must be above zero, and nothing scaled from it above 9223 kg\n",
                path);
    else if (fail != FAIL_NONE)
        fprintf(stderr, "tareline: %s: its order of weighing can't be worked; run: tareline check %s\n", path, path);
    if (fail != FAIL_NONE)
        return EXIT_FILE;
    if (w->resumed || w->setup.basis == BASIS_WEIGHED)
        return EXIT_DONE;
    uint8_t unfit = sequence_unfit(&w->seq, w->setup.basis_mass);
    if (unfit == NO_INGREDIENT)
        return EXIT_DONE;
    fprintf(stderr, "tareline: %s: no scale here is fit to weigh %s, which is regulated; see: tareline plan\n", path,
            w->formula.ingredients[unfit].key);
    return EXIT_NO;
}

/* The formula's faults end it at once: every other file is read against the formula. After that all are said together. */
static int load_files(struct weigher *w, struct opening *o)
{
    load_formula(w, &o->texts);
    if (w->faults.count)
        return files_wrong(w);
    load_station(w, &o->texts);
    load_people(w);
    load_limits(w, &o->texts);
    (void)containers_find(&w->station, &w->formula, w->cup_empty, w->cup_off, &w->faults);
    if (w->faults.count)
        return files_wrong(w);
    choose_basis(w);
    if (w->resumed) {
        w->setup.basis = o->record.basis;
        w->setup.basis_mass = o->record.net;
    }
    set_up(w);
    return lay_out(w);
}

int load_all(struct weigher *w)
{
    static struct opening o; /* holds a record and hashes; used once at the start */
    memset(&o, 0, sizeof o);
    o.w = w;
    w->setup.formula = &w->formula;
    w->setup.scales = w->scale_setups;
    if (w->tape.reading) {
        if (!read_opening(w, &o)) {
            fprintf(stderr, "tareline: %s:%u: not as a capture should be\n", w->args->replay, w->tape.line_number);
            return EXIT_FILE;
        }
    } else {
        if (!clock_is_set(w))
            return EXIT_JOURNAL;
        int code = look_for_open(w, &o);
        if (code != EXIT_DONE)
            return code;
        tape_options(w);
        tape_opening(w, &o);
    }
    w->batches_left = w->args->batches;
    return load_files(w, &o);
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

int load_open_batch(struct weigher *w)
{
    struct resuming r = {.w = w};
    if (!w->resumed) {
        new_batch_id(w);
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
