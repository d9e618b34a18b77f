/* Files and arguments into the setup of a batch. Every text passes through text_of: read from disk and put on the tape, or
 * taken from the tape. An open batch goes on with the texts that it began with. */
#include <inttypes.h>
#include <string.h>
#include <time.h>

#include "station/inside.h"

#define CONTAINER_ROOM (2 * PG_PER_KG) /* where the station file says nothing */

int load_wrong(struct weigher *w)
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

/* Where the file is. Of one whose text is kept in the journal only its name is needed, so that a batch can be gone on with
 * though the file has been moved since. */
static bool find(struct weigher *w, const char *kind, const char *name, const char *hash, char path[FILE_PATH])
{
    static struct faults ignored; /* too large for the stack */
    path[0] = '\0';
    if (w->tape.reading)
        return true;
    if (!hash[0])
        return file_find(kind, name, path, &w->faults);
    if (!file_find(kind, name, path, &ignored))
        snprintf(path, FILE_PATH, "%s", name);
    memset(&ignored, 0, sizeof ignored);
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
    const char *notes = strstr(w->station_text.file.text, NOTES_HEAD);
    if (!notes)
        return;
    for (const char *at = notes; (at = strstr(at, SCALE_NOTE)) != NULL;) {
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
    out->agreeing = agree_counts(p);
    if (out->agreeing) { /* silence between two lines means nothing there */
        out->settle.silent_us = UINT32_MAX;
        out->settle.gap_us = UINT32_MAX / 2;
    }
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

/* Without --station a batch may have a kept station text all the same: the notes of its --scale arguments. False: the file
 * has faults, so that nothing can be said of what it names or leaves out. */
static bool read_station(struct weigher *w, const struct batch_texts *open)
{
    memset(&w->station, 0, sizeof w->station);
    w->station.container_max = CONTAINER_ROOM;
    char path[FILE_PATH] = "";
    if (w->args->station && !find(w, "stations", w->args->station, open->station, path))
        return false;
    if (!w->args->station && !open->station[0])
        return true;
    if (!kept_or_file(w, "station", path, open->station, &w->station_text))
        return false;
    /* a text kept for arguments alone holds nothing but notes */
    bool notes_only = !strncmp(w->station_text.file.text, NOTES_HEAD, strlen(NOTES_HEAD));
    return notes_only || station_read(&w->station_text.file, &w->station, &w->faults);
}

static void load_station_scales(struct weigher *w, const struct batch_texts *open)
{
    if (!station_argued_scales(&w->station, w->args->scales, w->args->scale_count, &w->faults))
        return;
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
    char path[FILE_PATH];
    if (find(w, "limits", w->station.limits, open->limits, path) &&
        kept_or_file(w, "limits", path, open->limits, &w->limits_text))
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

/* Nobody vouches for a code there, so it must not look as if it counted. (A capture of an earlier version may hold one.) */
static bool person_unvouched(const struct weigher *w)
{
    if (!w->args->person || w->station.people[0] || w->tape.reading)
        return false;
    fprintf(
        stderr,
        "tareline: --person %s: this station has no people file to look it up in; leave it out (the record then says "
        "\"unnamed\"), or name the file with \"people\" in the station file\n",
        w->args->person);
    return true;
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
    char path[FILE_PATH];
    if (find(w, "formulas", w->args->formula, open->formula, path) &&
        kept_or_file(w, "formula", path, open->formula, &w->formula_text))
        (void)formula_read(&w->formula_text.file, &w->formula, &w->faults);
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

void load_batch_id(struct weigher *w)
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
    load_batch_id(w);
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
        return load_wrong(w);
    if (read_station(w, &o->texts)) {
        load_station_scales(w, &o->texts);
        load_people(w);
        load_limits(w, &o->texts);
        (void)containers_find(&w->station, &w->formula, w->cup_empty, w->cup_off, &w->faults);
    }
    if (w->faults.count)
        return load_wrong(w);
    if (person_unvouched(w))
        return EXIT_USAGE;
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
        if (!resume_from_tape(w, &o)) {
            fprintf(stderr, "tareline: %s:%u: not as a capture should be\n", w->args->replay, w->tape.line_number);
            return EXIT_FILE;
        }
    } else {
        if (!clock_is_set(w))
            return EXIT_JOURNAL;
        int code = resume_look(w, &o);
        if (code != EXIT_DONE)
            return code;
        tape_options(w);
        resume_to_tape(w, &o);
    }
    w->batches_left = resume_left(w, &o);
    return load_files(w, &o);
}
