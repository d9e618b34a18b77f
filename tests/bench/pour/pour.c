/* bench-pour: thousands of simulated weighings a second through the real core, judged by one who knows the truth. See
 * docs/settling.md. */
#include <getopt.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "plant/parameters.h"
#include "tests/bench/pour/print.h"

#define JOBS_MAX 16
#define SEEDS_APART UINT64_C(100000000) /* weighings of --seed 1 and 2 have no seed in common */

struct arguments {
    size_t weighings;
    uint64_t seed, only;
    const char *plots;
    unsigned jobs;
    bool json, has_only, parameters, strict, no_cue, settle_only, oracle;
};

struct job {
    struct pair *pairs;
    size_t begin, end;
    uint64_t first;
    bool settle_only, oracle;
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

static void *work(void *context)
{
    struct job *j = context;
    struct world *w = new_world();
    w->oracle = j->oracle;
    for (size_t i = j->begin; i < j->end; i++)
        one(w, j->first + i, j->settle_only, &j->pairs[i]);
    free(w->formula);
    free(w);
    return NULL;
}

static void run(struct pair *pairs, const struct arguments *a)
{
    pthread_t threads[JOBS_MAX];
    struct job jobs[JOBS_MAX];
    for (unsigned k = 0; k < a->jobs; k++) {
        jobs[k] = (struct job){pairs,
                               a->weighings * k / a->jobs,
                               a->weighings * (k + 1) / a->jobs,
                               a->seed * SEEDS_APART,
                               a->settle_only,
                               a->oracle};
        if (pthread_create(&threads[k], NULL, work, &jobs[k])) {
            fputs("bench-pour: no thread\n", stderr);
            exit(2);
        }
    }
    for (unsigned k = 0; k < a->jobs; k++)
        pthread_join(threads[k], NULL);
}

static int usage(FILE *to)
{
    fputs("usage: bench-pour [OPTION]...\n\n"
          "Simulated weighings through the real core, judged by one who knows the true mass.\n\n"
          "  --weighings N   10000 unless given\n"
          "  --seed S        1 unless given; runs of different S share no weighing\n"
          "  --settle-only   not without the cue as well: half the time, no figures on over-weighs\n"
          "  --oracle        the cue of one who knows the mass and the hand: what no cue can help is left\n"
          "  --plots FOLDER  three SVG files of so many weighings instead of the tables\n"
          "  --json          one object instead of the tables\n"
          "  --jobs N        threads, 2 unless given; the result does not depend on it\n"
          "  --only SEED     one weighing alone, reading by reading (SEED as the tables list it)\n"
          "  --no-cue        with --only: the person is shown no cue\n"
          "  --parameters    the table of what weighings are drawn from\n"
          "  --strict        exit 1 unless no false accept, none not accepted, no over-weigh missed\n",
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
        a->oracle = true;
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
    run(pairs, a);
    if (a->json)
        print_json(pairs, a->weighings);
    else
        print_tables(pairs, a->weighings, a->seed);
    if (!a->json)
        printf("\n%.0f weighings a second, each with and without the cue\n",
               (double)a->weighings / (clock_s() - began_s));
    bool good = is_good(pairs, a->weighings);
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
    w->oracle = a.oracle;
    world_run(w, a.only, !a.no_cue);
    print_outcome(&w->out, &w->c);
    free(w->formula);
    free(w);
    return 0;
}
