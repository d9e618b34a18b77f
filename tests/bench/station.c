/* bench-station: what the station costs, against the least that could do the same (bare.c).
 *
 * Everything is measured from outside, on pseudo-terminals: one plays the scale, one is the station's terminal. Lines are
 * those of profiles/scales/status-basis-kg.ini, 18 bytes.
 *
 * Station and bare program take turns line by line (and start by start), the first of each pair changing, after the same
 * idle time, each ten times a second: whatever the machine does meanwhile meets both alike. A round is the medians of its
 * turns and their ratio; told are the medians over the rounds, and of the ratio the quartiles too: where they stand far
 * apart, the machine was too busy for its figure to be worth anything. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <unistd.h>

#include "rig.h"

#define ROUNDS 15
#define PACED_ROUNDS 5
#define TRACED_ROUNDS 3
#define LINES 30 /* of each in a round */
#define STARTS 5 /* the same */
#define TRACED_LINES 40
#define LINE 18
#define LINE_NS (LINE * (uint64_t)BAUD_BYTE_NS)
#define TENTH 100000000u /* nanoseconds: the scale sends ten lines a second */
#define FIRST_SCREEN "Bench block"

/* Of the rounds: in nanoseconds, and the station's as a multiple of the bare program's. */
struct compared {
    double station, bare;
    struct quartiles ratio;
};

struct figures {
    struct compared line, paced, start;
    double calls, bare_calls;
    double rss_mb, screen_bytes, mallocs, idle_pct;
};

/* One of the two that take turns. */
struct side {
    struct program *program;
    const struct wire *scale;
    const char *name;
    bool station;
    unsigned k; /* weights shown so far */
};

static char build[200], folder[] = "/tmp/tareline-bench-XXXXXX";
static char errors[256];

static const char *in_build(const char *name)
{
    static char paths[4][256];
    static unsigned next;
    char *path = paths[next++ % 4];
    snprintf(path, sizeof *paths, "%s/%s", build, name);
    return path;
}

/* Grams as a settled or moving gross line. */
static void put_line(char line[LINE + 1], bool still, unsigned grams)
{
    snprintf(line, LINE + 1, "%s,GS,+%3u.%03ukg\r\n", still ? "ST" : "US", grams / 1000 % 100, grams % 1000);
}

/* The k-th weight of a pour in which every decimal differs from the one before, so that a terminal gets all three. */
static unsigned poured(unsigned k)
{
    return 2000 + k % 10 * 100 + (k * 3 + 1) % 10 * 10 + k % 2 * 5;
}

static void start_station(struct program *p, const struct wire *scale, const char *journal, const char *env)
{
    char option[200], store[200];
    snprintf(option, sizeof option, "bench=status-basis-kg@%s,capacity=15kg,division=5g,class=III", scale->path);
    snprintf(store, sizeof store, "%s/%s", folder, journal);
    const char *const argv[] = {
        in_build("tareline"), "weigh", "tests/bench/one-lug.ini", "--scale", option, "--journal", store, NULL};
    program_start(p, argv, env, errors);
}

static void start_bare(struct program *p, const char *what, const char *with)
{
    const char *const argv[] = {in_build("bench/bare"), what, with, NULL};
    program_start(p, argv, NULL, errors);
}

/* Ten lines a second of one weight. */
static void hold(struct program *p, const struct wire *scale, unsigned grams, double seconds)
{
    char line[LINE + 1];
    uint64_t at = clock_ns();
    put_line(line, true, grams);
    for (unsigned i = 0; i < seconds * 10; i++) {
        wire_send(scale, line, LINE);
        sleep_until(at += TENTH);
        while (program_read(p, 0))
            ;
    }
}

/* Walks a new station to the point where a lug is filled: platform empty, then its container at rest. */
static void to_the_pour(struct program *p, const struct wire *scale)
{
    if (!program_wrote(p, FIRST_SCREEN))
        give_up("the station showed no \"" FIRST_SCREEN "\" within 2 s; see %s", errors);
    hold(p, scale, 0, 2.5);
    hold(p, scale, 500, 2.5);
    program_forget(p);
}

/* Sends a line at once, or byte by byte at 9600 baud. The moment of its last byte. */
static uint64_t send(const struct wire *scale, const char *line, bool paced)
{
    uint64_t at = clock_ns();
    for (unsigned i = 0; paced && i < LINE - 1; i++) {
        wire_send(scale, line + i, 1);
        sleep_until(at += BAUD_BYTE_NS);
    }
    at = clock_ns();
    if (paced)
        wire_send(scale, line + LINE - 1, 1);
    else
        wire_send(scale, line, LINE);
    return at;
}

/* From the last byte of a line until its figure (station: its decimals; bare: its one byte) has been written; the line is
 * sent `idle` after the one before, whosever that was. Nanoseconds. */
static double shown_after(struct side *s, bool paced, uint64_t idle)
{
    char line[LINE + 1], text[4] = "#";
    unsigned grams = poured(++s->k);
    put_line(line, false, grams);
    if (s->station)
        snprintf(text, sizeof text, "%03u", grams % 1000);
    sleep_until(clock_ns() + idle);
    program_forget(s->program);
    uint64_t sent = send(s->scale, line, paced), shown = program_wrote(s->program, text);
    if (!shown)
        give_up("%s did not show \"%s\" within 2 s; see %s", s->name, text, errors);
    return (double)(shown - sent);
}

/* Rounds of turns by which the two are compared; take: one turn of one of them, in nanoseconds. */
static struct compared compare(struct side *station, struct side *bare, unsigned rounds, unsigned turns,
                               double (*take)(struct side *s))
{
    double all[ROUNDS], all_bare[ROUNDS], ratio[ROUNDS], took[LINES], took_bare[LINES];
    struct compared c;
    for (unsigned r = 0; r < rounds; r++) {
        for (unsigned i = 0; i < turns; i++) {
            if (i % 2)
                took_bare[i] = take(bare);
            took[i] = take(station);
            if (i % 2 == 0)
                took_bare[i] = take(bare);
        }
        all[r] = median(took, turns), all_bare[r] = median(took_bare, turns);
        ratio[r] = all[r] / all_bare[r];
    }
    c.station = median(all, rounds), c.bare = median(all_bare, rounds);
    c.ratio = quartiles(ratio, rounds);
    return c;
}

static double whole_line(struct side *s)
{
    return shown_after(s, false, TENTH / 2);
}

static double paced_line(struct side *s)
{
    return shown_after(s, true, TENTH / 2 - LINE_NS);
}

/* The traced program's scale and terminal, in a process of their own. */
static void play(void *context)
{
    struct side *s = context;
    char line[LINE + 1];
    uint64_t next = clock_ns();
    prctl(PR_SET_TIMERSLACK, 1);
    for (unsigned i = 0; i < TRACED_LINES; i++) {
        put_line(line, false, poured(s->k + 1 + i));
        send(s->scale, line, true);
        while (program_read(s->program, 0))
            ;
        sleep_until(next += TENTH);
    }
    program_forget(s->program);
}

static double calls_per_line(struct side *s)
{
    double calls[TRACED_ROUNDS];
    for (unsigned r = 0; r < TRACED_ROUNDS; r++) {
        calls[r] = (double)program_calls(s->program, play, s) / TRACED_LINES;
        s->k += TRACED_LINES;
        program_forget(s->program);
    }
    return median(calls, TRACED_ROUNDS);
}

static void measure_lines(struct figures *f)
{
    static struct program programs[2];
    struct wire scale, bare_scale;
    struct side station = {&programs[0], &scale, "the station", true, 0};
    struct side bare = {&programs[1], &bare_scale, "the bare reader", false, 0};
    wire_open(&scale);
    wire_open(&bare_scale);
    start_station(station.program, &scale, "lines.db", NULL);
    start_bare(bare.program, "read", bare_scale.path);
    if (!program_wrote(bare.program, "+"))
        give_up("the bare reader does not start; see %s", errors);
    to_the_pour(station.program, &scale);
    (void)compare(&station, &bare, 1, LINES, whole_line); /* to get warm */
    f->line = compare(&station, &bare, ROUNDS, LINES, whole_line);
    f->paced = compare(&station, &bare, PACED_ROUNDS, LINES, paced_line);
    f->calls = calls_per_line(&station);
    f->bare_calls = calls_per_line(&bare);
    f->rss_mb = (double)program_status(station.program, "VmHWM") / 1024;
    program_end(station.program);
    program_end(bare.program);
    close(scale.master);
    close(bare_scale.master);
}

/* A pour as it is: 5 to 40 g more with each line, ten lines a second. */
static void pour(struct program *p, const struct wire *scale, unsigned lines)
{
    char line[LINE + 1];
    uint64_t at = clock_ns();
    unsigned grams = 600;
    for (unsigned i = 0; i < lines; i++) {
        put_line(line, false, grams += 5 + i * 7 % 8 * 5);
        wire_send(scale, line, LINE);
        sleep_until(at += TENTH);
        while (program_read(p, 0))
            ;
    }
}

/* Bytes to the terminal, allocations (counted by count.c in every library), and processor time at rest. */
static void measure_pour(struct figures *f)
{
    static struct program station;
    struct wire scale;
    char counter[64], env[128], preload[300];
    uint64_t zero = 0;
    snprintf(counter, sizeof counter, "%s/count", folder);
    int fd = open(counter, O_RDWR | O_CREAT | O_TRUNC, 0600);
    if (fd < 0 || write(fd, &zero, sizeof zero) != sizeof zero)
        give_up("%s can't be written", counter);
    const volatile uint64_t *count = mmap(NULL, sizeof zero, PROT_READ, MAP_SHARED, fd, 0);
    close(fd);
    snprintf(env, sizeof env, "BENCH_COUNT=%s", counter);
    snprintf(preload, sizeof preload, "%s", in_build("bench/count.so"));
    setenv("LD_PRELOAD", preload, 1);
    wire_open(&scale);
    start_station(&station, &scale, "pour.db", env);
    unsetenv("LD_PRELOAD");
    to_the_pour(&station, &scale);
    pour(&station, &scale, 20); /* warm */
    if (*count == 0)
        give_up("no allocation was counted: the counter is not in the program");
    uint64_t before = *count;
    size_t shown = station.shown;
    pour(&station, &scale, 100);
    f->mallocs = (double)(*count - before) / 100;
    f->screen_bytes = (double)(station.shown - shown) / 100;
    program_end(&station);
    close(scale.master);
}

static void measure_idle(struct figures *f)
{
    static struct program station;
    struct wire scale;
    wire_open(&scale);
    start_station(&station, &scale, "idle.db", NULL);
    to_the_pour(&station, &scale);
    hold(&station, &scale, 1250, 1);
    uint64_t cpu = program_cpu_ns(&station), from = clock_ns();
    hold(&station, &scale, 1250, 8);
    f->idle_pct = 100 * (double)(program_cpu_ns(&station) - cpu) / (double)(clock_ns() - from);
    program_end(&station);
    close(scale.master);
}

static double started_after(struct side *s)
{
    char journal[64];
    const char *text = s->station ? FIRST_SCREEN : "all is there";
    snprintf(journal, sizeof journal, "%s/start.db", folder);
    if (s->station)
        start_station(s->program, s->scale, "start.db", NULL);
    else
        start_bare(s->program, "start", journal);
    uint64_t shown = program_wrote(s->program, text);
    if (!shown)
        give_up("%s: no \"%s\" on the first screen within 2 s; see %s", s->name, text, errors);
    double took = (double)(shown - s->program->started_ns);
    program_end(s->program);
    return took;
}

static void measure_start(struct figures *f)
{
    static struct program p;
    struct wire scale;
    struct side station = {&p, &scale, "the station", true, 0}, bare = {&p, &scale, "the bare start", false, 0};
    wire_open(&scale);
    (void)started_after(&station); /* makes the journal */
    f->start = compare(&station, &bare, ROUNDS, STARTS, started_after);
    close(scale.master);
}

static void say(const struct figures *f, bool json)
{
    const struct {
        const char *name;
        double value;
        const char *goal;
    } all[] = {
        {"line_to_screen_ratio", f->line.ratio.middle, "<= 1.3"},
        {"line_to_screen_ratio_q1", f->line.ratio.lower, ""},
        {"line_to_screen_ratio_q3", f->line.ratio.upper, ""},
        {"line_to_screen_us", f->line.station / 1e3, ""},
        {"bare_line_us", f->line.bare / 1e3, ""},
        {"syscalls_per_line", f->calls, "<= 6"},
        {"bare_syscalls_per_line", f->bare_calls, ""},
        {"paced_added_ms", (f->paced.station - f->paced.bare) / 1e6, "<= 2"},
        {"start_ratio", f->start.ratio.middle, "<= 1.5"},
        {"start_ratio_q1", f->start.ratio.lower, ""},
        {"start_ratio_q3", f->start.ratio.upper, ""},
        {"start_ms", f->start.station / 1e6, ""},
        {"bare_start_ms", f->start.bare / 1e6, ""},
        {"peak_rss_mb", f->rss_mb, "<= 8"},
        {"screen_bytes_per_change", f->screen_bytes, "<= 250"},
        {"mallocs_per_reading", f->mallocs, "0"},
        {"idle_cpu_pct", f->idle_pct, ""},
    };
    if (json)
        printf("{\"bench\":\"station\",\"rounds\":%d", ROUNDS);
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        if (json)
            printf(",\"%s\":%.4g", all[i].name, all[i].value);
        else
            printf("  %-26s %10.4g  %s%s\n", all[i].name, all[i].value, all[i].goal[0] ? "goal " : "", all[i].goal);
    }
    if (json)
        puts("}");
}

static void clean_up(void)
{
    char command[100];
    snprintf(command, sizeof command, "rm -rf %s", folder);
    if (system(command)) {
    }
}

int main(int argc, char **argv)
{
    struct figures f = {0};
    bool json = argc == 2 && !strcmp(argv[1], "--json");
    const char *slash = strrchr(argv[0], '/');
    if (argc > 2 || (argc == 2 && !json)) {
        fputs("usage: bench-station [--json]   (from the top of the tree, after make bench-programs)\n", stderr);
        return 2;
    }
    snprintf(build, sizeof build, "%.*s", slash ? (int)(slash - argv[0]) : 1, slash ? argv[0] : ".");
    prctl(PR_SET_TIMERSLACK, 1);
    if (!mkdtemp(folder))
        give_up("no folder for the journals");
    atexit(clean_up);
    snprintf(errors, sizeof errors, "%s/bench/errors.log", build);
    unlink(errors);
    measure_start(&f);
    measure_lines(&f);
    measure_pour(&f);
    measure_idle(&f);
    say(&f, json);
    return 0;
}
