/* bench-pour: thousands of simulated weighings a second through the real core, judged by one who knows the truth. See
 * docs/settling.md. */
#include <getopt.h>
#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "plant/parameters.h"
#include "tests/bench/pour/print.h"

#define JOBS_MAX 16
#define SEEDS_APART UINT64_C(100000000) /* weighings of --seed 1 and 2 have no seed in common */

struct arguments {
    size_t weighings;
    uint64_t seed, only;
    const char *plots;
    unsigned jobs;
    bool json, has_only, parameters, strict, no_cue, settle_only;
    struct manner_of how;
};

struct job {
    struct pair *pairs;
    size_t begin, end, next;
    uint64_t first;
    bool settle_only;
    struct manner_of how;
};

static void one(struct world *w, uint64_t seed, bool settle_only, struct pair *p)
{
    if (!settle_only) {
        world_run(w, seed, false);
        p->plain = w->out;
    }
    world_run(w, seed, true);
    p->cued = w->out;
}

static struct world *new_world(void)
{
    struct world *w = calloc(1, sizeof *w);
    if (w)
        w->formula = calloc(1, sizeof *w->formula);
    if (!w || !w->formula) {
        fputs("bench-pour: no memory\n", stderr);
        exit(2);
    }
    return w;
}

static volatile sig_atomic_t stopped;

static void stop(int signal_number)
{
    (void)signal_number;
    stopped = 1;
}

/* Of the first job's part; the others go at the same pace. */
static void say_progress(const struct job *j, size_t done)
{
    size_t part = j->end / 100;
    if (j->begin == 0 && part && done % part == 0)
        fprintf(stderr, "\r%zu %% ", done / part);
}

static void *work(void *context)
{
    struct job *j = context;
    struct world *w = new_world();
    w->how = j->how;
    bool tell = isatty(STDERR_FILENO);
    for (j->next = j->begin; j->next < j->end && !stopped; j->next++) {
        one(w, j->first + j->next, j->settle_only, &j->pairs[j->next]);
        if (tell)
            say_progress(j, j->next + 1);
    }
    free(w->formula);
    free(w);
    return NULL;
}

/* How many were done: all of them unless it was interrupted, those that were then stand first. */
static size_t run(struct pair *pairs, const struct arguments *a)
{
    pthread_t threads[JOBS_MAX];
    struct job jobs[JOBS_MAX];
    size_t done = 0;
    signal(SIGINT, stop);
    signal(SIGTERM, stop);
    for (unsigned k = 0; k < a->jobs; k++) {
        jobs[k] = (struct job){.pairs = pairs,
                               .begin = a->weighings * k / a->jobs,
                               .end = a->weighings * (k + 1) / a->jobs,
                               .first = a->seed * SEEDS_APART,
                               .settle_only = a->settle_only,
                               .how = a->how};
        if (pthread_create(&threads[k], NULL, work, &jobs[k])) {
            fputs("bench-pour: no thread\n", stderr);
            exit(2);
        }
    }
    for (unsigned k = 0; k < a->jobs; k++) {
        pthread_join(threads[k], NULL);
        memmove(&pairs[done], &pairs[jobs[k].begin], (jobs[k].next - jobs[k].begin) * sizeof *pairs);
        done += jobs[k].next - jobs[k].begin;
    }
    return done;
}

static int usage(FILE *to)
{
    fputs("usage: bench-pour [OPTION]...\n\n"
          "Simulated weighings through the real core, judged by one who knows the true mass.\n\n"
          "  --weighings N   10000 unless given\n"
          "  --seed S        1 unless given; runs of different S share no weighing\n"
          "  --settle-only   not without the cue as well: half the time, no figures on over-weighs\n"
          "  --oracle        the cue of one who knows the mass and the hand: what no cue can help is left\n"
          "  --deaf          the person does not heed the cue, though the station believes that hands do\n"
          "  --reacts        the person says yes with free hands and after a reaction, not at the first moment\n"
          "  --asked         the person says yes only once it is asked for it, not before\n"
          "  --plots FOLDER  three SVG files of so many weighings instead of the tables\n"
          "  --json          one object instead of the tables\n"
          "  --jobs N        threads, 2 unless given; the result does not depend on it\n"
          "  --only SEED     one weighing alone, reading by reading (SEED as the tables list it)\n"
          "  --no-cue        with --only: the person is shown no cue\n"
          "  --parameters    the table of what weighings are drawn from\n"
          "  --strict        exit 1 unless no false accept, none not accepted, no over-weigh missed;\n"
          "                  with --only: and unless it is accepted\n",
          to);
    return to == stdout ? 0 : 2;
}

static bool number(const char *text, uint64_t *out)
{
    char *end;
    *out = strtoull(text, &end, 10);
    return *text >= '0' && *text <= '9' && !*end;
}

static bool take(struct arguments *a, int option)
{
    uint64_t value = 0;
    if (strchr("nsoj", option) && !number(optarg, &value))
        return false;
    switch (option) {
    case 'n':
        a->weighings = value;
        return value > 0 && value < SEEDS_APART;
    case 's':
        a->seed = value;
        return value < UINT64_MAX / SEEDS_APART - 1;
    case 'o':
        a->has_only = true;
        a->only = value;
        return true;
    case 'j':
        a->jobs = (unsigned)value;
        return value > 0 && value <= JOBS_MAX;
    case 'J':
        a->json = true;
        return true;
    case 'P':
        a->parameters = true;
        return true;
    case 'S':
        a->strict = true;
        return true;
    case 'p':
        a->plots = optarg;
        return true;
    case 'O':
        a->settle_only = true;
        return true;
    case 'K':
        a->how.oracle = true;
        return true;
    case 'D':
        a->how.deaf = true;
        return true;
    case 'R':
        a->how.reacts = true;
        return true;
    case 'A':
        a->how.asked = true;
        return true;
    case 'C':
        a->no_cue = true;
        return true;
    default:
        return false;
    }
}

static int read_arguments(int argc, char **argv, struct arguments *a)
{
    static const struct option options[] = {{"weighings", required_argument, NULL, 'n'},
                                            {"seed", required_argument, NULL, 's'},
                                            {"only", required_argument, NULL, 'o'},
                                            {"jobs", required_argument, NULL, 'j'},
                                            {"plots", required_argument, NULL, 'p'},
                                            {"json", no_argument, NULL, 'J'},
                                            {"parameters", no_argument, NULL, 'P'},
                                            {"strict", no_argument, NULL, 'S'},
                                            {"oracle", no_argument, NULL, 'K'},
                                            {"deaf", no_argument, NULL, 'D'},
                                            {"reacts", no_argument, NULL, 'R'},
                                            {"asked", no_argument, NULL, 'A'},
                                            {"no-cue", no_argument, NULL, 'C'},
                                            {"settle-only", no_argument, NULL, 'O'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    int option;
    while ((option = getopt_long(argc, argv, "", options, NULL)) != -1) {
        if (option == 'h')
            exit(usage(stdout));
        if (!take(a, option))
            return usage(stderr);
    }
    return optind == argc ? 0 : usage(stderr);
}

static double clock_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static int weigh_all(const struct arguments *a)
{
    struct pair *pairs = calloc(a->weighings, sizeof *pairs);
    double began_s = clock_s();
    if (!pairs) {
        fputs("bench-pour: no memory for so many weighings\n", stderr);
        return 2;
    }
    size_t done = run(pairs, a);
    if (stopped)
        fprintf(stderr, "bench-pour: interrupted after %zu of %zu weighings; what follows is of those\n", done,
                a->weighings);
    if (a->json)
        print_json(pairs, done);
    else
        print_tables(pairs, done, a->seed);
    if (!a->json)
        printf("\n%.0f weighings a second%s\n", (double)done / (clock_s() - began_s),
               a->settle_only ? "" : ", each with and without the cue");
    bool good = !stopped && is_good(pairs, done);
    free(pairs);
    return a->strict && !good;
}

int main(int argc, char **argv)
{
    struct arguments a = {.weighings = 10000, .seed = 1, .jobs = 2};
    int wrong = read_arguments(argc, argv, &a);
    if (wrong)
        return wrong;
    if (a.parameters) {
        print_parameters();
        return 0;
    }
    if (!a.has_only && !a.plots)
        return weigh_all(&a);
    struct world *w = new_world();
    if (a.plots)
        return plot_all(a.plots, w, a.seed * SEEDS_APART, a.weighings) ? 0 : 2;
    w->trace = print_trace;
    w->how = a.how;
    world_run(w, a.only, !a.no_cue);
    print_outcome(&w->out, &w->c);
    struct pair alone = {.cued = w->out, .plain = w->out};
    free(w->formula);
    free(w);
    return a.strict && !(alone.cued.net[RULE_OURS].accepted && is_good(&alone, 1));
}
