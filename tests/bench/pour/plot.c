/* Plots: what the settling constants cost and gain, and one weighing, as SVG. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/bench/pour/print.h"

#define WIDE 640
#define HIGH 300
#define LEFT 60
#define TOP 30
#define BIN_S 0.1
#define BINS 25
#define CURVE 10

static const double quick_s[CURVE] = {0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.1, 1.2};
static const char *const colours[RULES] = {"#0b6", "#c40", "#46c"};
static const char *const names[RULES] = {"ours", "5 equal readings", "the mark alone"};

struct axes {
    FILE *to;
    double x0, x1, y0, y1;
};

static double across(const struct axes *a, double x)
{
    return LEFT + (x - a->x0) / (a->x1 - a->x0) * WIDE;
}

static double up(const struct axes *a, double y)
{
    return TOP + HIGH - (y - a->y0) / (a->y1 - a->y0) * HIGH;
}

static void text(const struct axes *a, double x, double y, const char *colour, const char *words)
{
    fprintf(a->to, "<text x=\"%.0f\" y=\"%.0f\" fill=\"%s\">%s</text>\n", x, y, colour, words);
}

static bool begin(struct axes *a, const char *folder, const char *name, const char *title)
{
    char path[512], mark[32];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    a->to = fopen(path, "w");
    if (!a->to) {
        fprintf(stderr, "bench-pour: can't write %s: give --plots a folder that is there\n", path);
        return false;
    }
    fprintf(a->to,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" font-family=\"sans-serif\" "
            "font-size=\"12\">\n<rect width=\"100%%\" height=\"100%%\" fill=\"white\"/>\n"
            "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" fill=\"none\" stroke=\"#888\"/>\n",
            WIDE + LEFT + 30, HIGH + TOP + 50, LEFT, TOP, WIDE, HIGH);
    text(a, LEFT, TOP - 10, "black", title);
    for (int k = 0; k <= 5; k++) {
        double x = a->x0 + (a->x1 - a->x0) * k / 5, y = a->y0 + (a->y1 - a->y0) * k / 5;
        snprintf(mark, sizeof mark, "%.4g", x);
        text(a, across(a, x) - 8, TOP + HIGH + 16, "black", mark);
        snprintf(mark, sizeof mark, "%.4g", y);
        text(a, 8, up(a, y) + 4, "black", mark);
    }
    return true;
}

static void end(struct axes *a, const char *below)
{
    text(a, LEFT + WIDE / 2.0 - 120, TOP + HIGH + 36, "black", below);
    fputs("</svg>\n", a->to);
    fclose(a->to);
}

static void line(const struct axes *a, const char *colour, const double *x, const double *y, size_t n)
{
    fprintf(a->to, "<polyline fill=\"none\" stroke=\"%s\" stroke-width=\"1.5\" points=\"", colour);
    for (size_t i = 0; i < n; i++)
        fprintf(a->to, "%.1f,%.1f ", across(a, x[i]), up(a, fmin(fmax(y[i], a->y0), a->y1)));
    fputs("\"/>\n", a->to);
}

static void upright(const struct axes *a, double x, const char *colour, const char *words, int row)
{
    fprintf(a->to, "<line x1=\"%.1f\" x2=\"%.1f\" y1=\"%d\" y2=\"%d\" stroke=\"%s\" stroke-dasharray=\"4 3\"/>\n",
            across(a, x), across(a, x), TOP, TOP + HIGH, colour);
    text(a, across(a, x) + 3, TOP + HIGH - 60 + 14 * row, colour, words);
}

/* The last seconds of one weighing: truth, figure, and when each rule would have taken it. */
static bool plot_weighing(const char *folder, struct world *w, uint64_t seed)
{
    static double at[HEARD_MAX], shown[HEARD_MAX], truth[HEARD_MAX];
    world_run(w, seed, true);
    const struct outcome *o = &w->out;
    double end_s = fmax(o->net[RULE_OURS].at_s, o->oracle_s) + 1;
    struct axes a = {.x0 = end_s - 5, .x1 = end_s, .y0 = INFINITY, .y1 = -INFINITY};
    size_t n = 0;
    for (unsigned k = 0; k < w->heard_count; k++) {
        const struct heard *h = &w->heard[k];
        if (h->at_s < a.x0 || h->at_s > a.x1)
            continue;
        at[n] = h->at_s;
        shown[n] = h->mass_d;
        truth[n++] = h->truth_d;
        a.y1 = fmax(a.y1, fmax(h->mass_d, h->truth_d));
    }
    a.y1 += 1;
    a.y0 = a.y1 - 10;
    char title[120], name[40];
    snprintf(title, sizeof title, "seed %llu, %s: true mass (grey) and figure (black), divisions",
             (unsigned long long)seed, class_text(w->c.class));
    snprintf(name, sizeof name, "settling-%s.svg", w->c.class == CLASS_CALM ? "weighing" : "trickle");
    if (!begin(&a, folder, name, title))
        return false;
    line(&a, "#999", at, truth, n);
    line(&a, "black", at, shown, n);
    for (int k = 0; k < RULES; k++)
        if (o->net[k].accepted && o->net[k].at_s > a.x0)
            upright(&a, o->net[k].at_s, colours[k], names[k], k);
    if (o->oracle_accepts)
        upright(&a, o->oracle_s, "#808", "oracle", 3);
    end(&a, "seconds");
    return true;
}

static bool plot_delays(const char *folder, const struct pair *pairs, size_t n)
{
    double x[BINS], y[BINS];
    struct axes a = {.x1 = BINS * BIN_S, .y1 = 50};
    if (!begin(&a, folder, "settling-delays.svg", "% of weighings by delay after the oracle, ten lines a second"))
        return false;
    for (int rule = 0; rule < RULES; rule++) {
        double of = 0;
        for (int b = 0; b < BINS; b++) {
            x[b] = b * BIN_S;
            y[b] = 0;
        }
        for (size_t i = 0; i < n; i++) {
            const struct outcome *o = &pairs[i].cued;
            if (!o->oracle_accepts || !o->tenth)
                continue;
            of++;
            if (o->delay_s[rule] < BINS * BIN_S - BIN_S / 2)
                y[(int)(o->delay_s[rule] / BIN_S + 0.5)] += 100;
        }
        for (int b = 0; b < BINS; b++)
            y[b] /= fmax(of, 1);
        line(&a, colours[rule], x, y, BINS);
        text(&a, LEFT + 400, TOP + 20 + 16 * rule, colours[rule], names[rule]);
    }
    end(&a, "seconds");
    return true;
}

static bool any(const struct pair *p, unsigned value)
{
    (void)p;
    (void)value;
    return true;
}

static void run_all(struct world *w, struct pair *pairs, uint64_t first, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        world_run(w, first + i, true);
        pairs[i].cued = w->out;
    }
}

static double per_hundred_thousand(size_t count, size_t n)
{
    double low, high;
    wilson((struct count){count, n}, &low, &high);
    return log10(fmax(count ? (double)count / (double)n : high, 1e-5) * 1e5);
}

/* quick_us from too short to long: false accepts (logarithm) and delay. */
static bool plot_window(const char *folder, struct world *w, struct pair *pairs, uint64_t first, size_t n)
{
    struct axes a = {.x1 = 1.25, .y1 = 5};
    double rate[CURVE], naive[CURVE], delay[CURVE];
    struct tally t;
    for (int k = 0; k < CURVE; k++) {
        w->how.quick_us = (uint32_t)(quick_s[k] * 1e6);
        run_all(w, pairs, first, n);
        tally_of(pairs, n, any, 0, true, &t);
        rate[k] = per_hundred_thousand(t.false_accepts[RULE_OURS], n);
        naive[k] = per_hundred_thousand(t.false_accepts[RULE_EQUAL], n);
        delay[k] = t.median_s[RULE_OURS];
        printf("quick_us %.2f s: %zu false accepts of %zu, delay %.2f s, p95 %.2f s, not accepted %zu\n", quick_s[k],
               t.false_accepts[RULE_OURS], n, delay[k], t.p95_s[RULE_OURS], t.not_accepted[RULE_OURS]);
    }
    w->how.quick_us = 0;
    if (!begin(&a, folder, "settling-window.svg",
               "false accepts in 100,000, power of ten (where none: the 95 % bound); median delay, seconds"))
        return false;
    line(&a, colours[RULE_OURS], quick_s, rate, CURVE);
    line(&a, colours[RULE_EQUAL], quick_s, naive, CURVE);
    line(&a, "black", quick_s, delay, CURVE);
    text(&a, LEFT + 20, TOP + 16, colours[RULE_OURS], "false accepts, ours");
    text(&a, LEFT + 160, TOP + 16, colours[RULE_EQUAL], "false accepts, 5 equal readings");
    text(&a, LEFT + 20, TOP + 220, "black", "median delay, ours");
    upright(&a, 0.95, "#888", "chosen", 3);
    end(&a, "quick_us, seconds");
    return true;
}

bool plot_all(const char *folder, struct world *w, uint64_t first, size_t n)
{
    struct pair *pairs = calloc(n, sizeof *pairs);
    if (!pairs) {
        fputs("bench-pour: no memory for so many weighings\n", stderr);
        return false;
    }
    run_all(w, pairs, first, n);
    bool good = plot_delays(folder, pairs, n) && plot_window(folder, w, pairs, first, n);
    uint64_t calm = first + (CLASS_COUNT - first % CLASS_COUNT) % CLASS_COUNT;
    good = good && plot_weighing(folder, w, calm) && plot_weighing(folder, w, calm + CLASS_TRICKLE);
    free(pairs);
    return good;
}
