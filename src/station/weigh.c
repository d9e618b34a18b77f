/* A run from arguments to exit code: what has to be there before anything is weighed is checked first. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "station/inside.h"

static int open_journal(struct weigher *w)
{
    char path[FILE_PATH], why[STORE_WHY] = "";
    bool ours = false;
    if (w->args->journal)
        snprintf(path, sizeof path, "%s", w->args->journal);
    else if (!store_default_path(path, sizeof path, &ours)) {
        fputs("tareline: no place for the journal: HOME is not set; give one with --journal FILE\n", stderr);
        return EXIT_JOURNAL;
    }
    if ((!ours || store_make_folders(path, why) == STORE_OK) &&
        store_open(&w->store, path, STORE_WRITE, why) == STORE_OK)
        return EXIT_DONE;
    fprintf(stderr, "tareline: %s\n", why);
    return EXIT_JOURNAL;
}

static int open_scales(struct weigher *w)
{
    int code = EXIT_DONE;
    for (uint8_t k = 0; k < w->setup.scale_count; k++) {
        struct feeder *f = &w->feeders[k];
        const char *device = w->station.scales[k].device;
        bool fits = feeder_init(f, &w->profiles[k], device);
        f->wary = true; /* what is weighed must be known to be on this scale */
        if (!fits || feeder_open(f, w->now) != DRIVER_OK) {
            fprintf(stderr, "tareline: scale %s: %s\n", w->scale_setups[k].name,
                    f->why[0] ? f->why : "the device text is too long");
            code = EXIT_DEVICE;
        }
    }
    return code;
}

static int open_screen(struct weigher *w)
{
    char why[200];
    if (screen_open(&w->screen, (enum screen_kind)w->args->face, STDIN_FILENO, STDOUT_FILENO, why, sizeof why))
        return EXIT_DONE;
    fprintf(stderr, "tareline: %s\n", why);
    return EXIT_USAGE;
}

/* The journal first, since its lock keeps a second station out; the capture before the files, whose texts go into it; the
 * screen last, so that everything that can be wrong is said on an ordinary terminal. */
static int run_live(struct weigher *w)
{
    char why[300];
    w->now = clock_monotonic_us();
    w->utc = clock_utc_us();
    int code = open_journal(w);
    if (code == EXIT_DONE && w->args->capture && !tape_create(&w->tape, w->args->capture, why, sizeof why)) {
        fprintf(stderr, "tareline: %s\n", why);
        code = EXIT_FILE;
    }
    if (code == EXIT_DONE)
        code = load_all(w);
    if (code == EXIT_DONE)
        code = resume_entries(w);
    if (code == EXIT_DONE)
        code = open_scales(w);
    if (code == EXIT_DONE)
        code = open_screen(w);
    if (code != EXIT_DONE)
        return code;
    code = loop_run(w);
    screen_close(&w->screen);
    return code;
}

/* Options of the captured run, in the order in which tape_options wrote them; the face is this run's own. */
static bool tape_arguments(struct weigher *w, struct weigh_arguments *a)
{
    static char texts[CAP_SCALES + 2][TAPE_LINE / 8]; /* live as long as the arguments */
    const char *rest;
    int64_t number = 0;
    unsigned used = 0;
    for (a->scale_count = 0; a->scale_count < CAP_SCALES && (rest = tape_expect(&w->tape, "scale")) != NULL;) {
        snprintf(texts[used], sizeof texts[used], "%s", rest);
        a->scales[a->scale_count++] = texts[used++];
    }
    if ((rest = tape_expect(&w->tape, "station")) != NULL) {
        snprintf(texts[used], sizeof texts[used], "%s", rest);
        a->station = texts[used++];
    }
    a->has_meat = (rest = tape_expect(&w->tape, "meat")) != NULL;
    a->meat = a->has_meat ? strtoll(rest, NULL, 10) : 0;
    if ((rest = tape_expect(&w->tape, "person")) != NULL) {
        snprintf(texts[used], sizeof texts[used], "%s", rest);
        a->person = texts[used];
    }
    a->readings = tape_expect(&w->tape, "readings") != NULL;
    rest = tape_expect(&w->tape, "batches");
    if (!rest || !tape_int(&rest, &number))
        return false;
    a->batches = (unsigned)number;
    rest = tape_expect(&w->tape, "start");
    if (!rest || !tape_int(&rest, &number) || !tape_int(&rest, &w->utc))
        return false;
    w->now = (uint64_t)number;
    rest = tape_expect(&w->tape, "head");
    return rest && tape_int(&rest, &w->head.seq) && tape_hex(rest, w->head.hash, STORE_HASH) == STORE_HASH;
}

static void remove_scratch(const char *folder)
{
    static const char *const names[] = {"scratch.db", "scratch.db-wal", "scratch.db-shm", "scratch.db-lock"};
    char path[FILE_PATH + 20];
    for (unsigned k = 0; k < sizeof names / sizeof names[0]; k++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[k]);
        (void)unlink(path);
    }
    (void)rmdir(folder);
}

/* SQLite reads the JSON of a resumed batch's entries; it needs some journal to do it in. */
static bool scratch_store(struct weigher *w, char folder[FILE_PATH])
{
    char path[FILE_PATH + 20], why[STORE_WHY];
    const char *place = getenv("TMPDIR");
    int n = snprintf(folder, FILE_PATH, "%s/tareline-replay-XXXXXX", place && place[0] ? place : "/tmp");
    if (n >= FILE_PATH || !mkdtemp(folder))
        return false;
    snprintf(path, sizeof path, "%s/scratch.db", folder);
    if (store_open(&w->store, path, STORE_WRITE, why) == STORE_OK)
        return true;
    remove_scratch(folder);
    return false;
}

static int run_replay(struct weigher *w, struct weigh_arguments *a)
{
    char why[300], folder[FILE_PATH];
    if (!tape_open(&w->tape, a->replay, why, sizeof why)) {
        fprintf(stderr, "tareline: %s\n", why);
        return EXIT_FILE;
    }
    if (!tape_arguments(w, a)) {
        fprintf(stderr, "tareline: %s:%u: not as a capture should be\n", a->replay, w->tape.line_number);
        return EXIT_FILE;
    }
    if (!scratch_store(w, folder)) {
        fprintf(stderr, "tareline: a scratch journal can't be made as %s; is TMPDIR a folder that may be written?\n",
                folder);
        return EXIT_JOURNAL;
    }
    int code = load_all(w);
    if (code == EXIT_DONE)
        code = resume_entries(w);
    for (uint8_t k = 0; k < w->setup.scale_count; k++)
        feeder_line_reset(&w->feeders[k].line, &w->profiles[k], w->now);
    if (code == EXIT_DONE)
        code = open_screen(w);
    if (code == EXIT_DONE) {
        code = replay_run(w);
        screen_close(&w->screen);
    }
    store_close(w->store);
    w->store = NULL;
    remove_scratch(folder);
    return code;
}

int station_weigh(const struct weigh_arguments *args)
{
    static struct weigh_arguments a;
    struct weigher *w = calloc(1, sizeof *w); /* the one allocation; everything in it is bounded */
    if (!w)
        return EXIT_DEVICE;
    a = *args;
    w->args = &a;
    int code = args->replay ? run_replay(w, &a) : run_live(w);
    for (uint8_t k = 0; k < w->setup.scale_count && !args->replay; k++)
        feeder_close(&w->feeders[k]);
    tape_close(&w->tape);
    if (w->tape.broken)
        fputs("tareline: the capture could not be written to its end (is the disk full?)\n", stderr);
    if (w->store)
        store_close(w->store);
    free(w);
    return code;
}
