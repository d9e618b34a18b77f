#include "tests/bench/pour/tally.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define Z 1.959963984540054 /* of 95 %, both sides */

void wilson(struct count c, double *low, double *high)
{
    double n = (double)c.of, p = n > 0 ? (double)c.n / n : 0, zz = Z * Z;
    *low = 0;
    *high = 1;
    if (c.of == 0)
        return;
    double middle = (p + zz / (2 * n)) / (1 + zz / n);
    double half = Z / (1 + zz / n) * sqrt(p * (1 - p) / n + zz / (4 * n * n));
    *low = c.n == 0 ? 0 : middle - half;
    *high = c.n == c.of ? 1 : middle + half;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double quantile(double *values, size_t n, double q)
{
    if (n == 0)
        return NAN;
    qsort(values, n, sizeof *values, by_size);
    return values[(size_t)(q * (double)(n - 1) + 0.5)];
}

static void count_one(const struct pair *p, struct tally *t)
{
    const struct outcome *o = &p->cued;
    t->weighings++;
    t->oracle += o->oracle_accepts;
    t->false_tares += o->tare.wrong;
    t->disputed += o->disputed;
    t->never += !o->net[RULE_OURS].accepted;
    for (unsigned k = 0; k < RULES; k++) {
        t->accepted[k] += o->net[k].accepted;
        t->false_accepts[k] += o->net[k].wrong;
        t->not_accepted[k] += o->oracle_accepts && !o->net[k].accepted;
    }
    t->false_accepts[RULE_OURS] += o->tare.wrong && !o->net[RULE_OURS].wrong; /* a weighing counts once */
    t->missed += o->missed;
    t->hidden += o->hidden;
    t->caught += o->caught;
    if (!o->stream)
        return;
    t->streams++;
    t->overweigh_cued += o->over;
    t->overweigh_plain += p->plain.over;
    t->laden_cued += o->laden;
    t->laden_plain += p->plain.laden;
    t->cues += o->cue;
    t->needless += o->needless;
}

static void delays_of(const struct pair *pairs, size_t n, chooses choose, unsigned value, bool tenth, struct tally *t,
                      double *room)
{
    for (unsigned rule = 0; rule < RULES; rule++) {
        t->delays = 0;
        for (size_t i = 0; i < n; i++) {
            const struct outcome *o = &pairs[i].cued;
            if (choose(&pairs[i], value) && o->oracle_accepts && (o->tenth || !tenth))
                room[t->delays++] = o->delay_s[rule];
        }
        t->median_s[rule] = quantile(room, t->delays, 0.5);
        t->p95_s[rule] = quantile(room, t->delays, 0.95);
    }
}

static void yes_of(const struct pair *pairs, size_t n, chooses choose, unsigned value, bool tenth, struct tally *t,
                   double *room)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const struct outcome *o = &pairs[i].cued;
        t->taken_back += choose(&pairs[i], value) ? o->taken_back : 0;
        if (choose(&pairs[i], value) && o->oracle_accepts && (o->tenth || !tenth))
            room[count++] = o->yes_delay_s;
    }
    t->yes_median_s = quantile(room, count, 0.5);
    t->yes_p95_s = quantile(room, count, 0.95);
}

static double fill_of(const struct pair *pairs, size_t n, chooses choose, unsigned value, bool cued, double *room)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const struct outcome *o = cued ? &pairs[i].cued : &pairs[i].plain;
        if (choose(&pairs[i], value) && o->stream)
            room[count++] = o->net[RULE_OURS].accepted ? o->fill_s : INFINITY;
    }
    return quantile(room, count, 0.5);
}

void tally_of(const struct pair *pairs, size_t n, chooses choose, unsigned value, bool tenth, struct tally *out)
{
    double *room = malloc((n ? n : 1) * sizeof *room);
    memset(out, 0, sizeof *out);
    if (!room)
        abort();
    for (size_t i = 0; i < n; i++)
        if (choose(&pairs[i], value))
            count_one(&pairs[i], out);
    delays_of(pairs, n, choose, value, tenth, out, room);
    yes_of(pairs, n, choose, value, tenth, out, room);
    out->fill_cued_s = fill_of(pairs, n, choose, value, true, room);
    out->fill_plain_s = fill_of(pairs, n, choose, value, false, room);
    free(room);
}
