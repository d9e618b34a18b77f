/* The line through the slots: what flows, and how sure that is. */
#include "core/flow_line.h"

/* The line is fitted in 16ths of a division and milliseconds: then its sums stay far within 64 bits. */
#define PARTS 16
#define PARTS_MOST (INT64_C(1) << 20)
#define ROUNDING_VARIANCE (PARTS * PARTS / 12) /* of a figure rounded to the division */
#define STRAIGHT_VARIANCE (PARTS * PARTS / 8)  /* and a little noise: what slots may stray from a straight line */
#define AGREE 3                                /* slopes agree within so many halves of a standard error */
#define READINGS_LEAST 3

/* Sums over the slots: x in milliseconds after the newest reading (so never above 0), y in parts of a division above the
 * newest slot. */
struct sums {
    int64_t n, x, y, xx, xy, yy;
    int64_t last_x, last_y; /* of the slot added before, which is the next newer one */
    int64_t rise, fall;     /* the steepest between two neighbours, parts in a second; both >= 0 */
    int64_t noise;          /* variance of a slot, beside that of rounding */
};

static void steepest(struct sums *s, int64_t x, int64_t y)
{
    int64_t slope = s->n && s->last_x > x ? (s->last_y - y) * 1000 / (s->last_x - x) : 0;

    if (slope > s->rise)
        s->rise = slope;
    if (-slope > s->fall)
        s->fall = -slope;
    s->last_x = x;
    s->last_y = y;
}

static bool add_slot(struct sums *sums, const struct flow *f, const struct flow_rule *rule, unsigned back)
{
    const struct flow_bin *bin = &f->bins[(f->slot - back) % FLOW_BINS];
    mass_pg above = bin->mass - f->bins[f->slot % FLOW_BINS].mass;
    uint64_t at = (f->slot - back) * flow_slot_us(rule) + bin->at;
    int64_t x = -(int64_t)((f->newest - at) / 1000), y = 0;

    if (bin->count == 0)
        return true;
    if (muldiv(above, PARTS, (uint64_t)rule->division, ROUND_HALF_EVEN, &y) || y > PARTS_MOST || y < -PARTS_MOST)
        return false;
    steepest(sums, x, y);
    sums->n++;
    sums->x += x;
    sums->y += y;
    sums->xx += x * x;
    sums->xy += x * y;
    sums->yy += y * y;
    return true;
}

static uint64_t root(uint64_t of)
{
    uint64_t root = 0;

    for (uint64_t bit = UINT64_C(1) << 31; bit; bit >>= 1)
        if ((root + bit) * (root + bit) <= of)
            root += bit;
    return root;
}

/* y = a + b x: b = (n xy - x y) / (n xx - x x). `turn` and `spread` are its two terms; the slots stray from the line by
 * (n yy - y y - b turn) / n, squared and added up. */
static bool fit(const struct sums *s, mass_pg division, struct flow_line *line)
{
    int64_t turn = s->n * s->xy - s->x * s->y, spread = s->n * s->xx - s->x * s->x, along = 0, variance = 0,
            straight = 0;

    if (spread <= 0 || muldiv(turn, (uint64_t)(turn < 0 ? -turn : turn), (uint64_t)spread, ROUND_HALF_EVEN, &along))
        return false;
    along = s->n * s->yy - s->y * s->y - (along < 0 ? -along : along);
    variance = (along > 0 ? along : 0) / (s->n * (s->n > 2 ? s->n - 2 : 1));
    variance = (variance > s->noise ? variance : s->noise) + ROUNDING_VARIANCE;
    if (muldiv(variance, (uint64_t)s->n << 20, (uint64_t)spread, ROUND_UP, &variance) || /* in 1024ths, squared */
        muldiv(STRAIGHT_VARIANCE + s->noise, (uint64_t)s->n << 20, (uint64_t)spread, ROUND_UP, &straight))
        return false;

    int64_t per_ms = division / PARTS * 1000; /* one part in a millisecond, per second */
    int64_t lead = (s->y * spread - turn * s->x) / s->n;
    bool bad = muldiv(turn < 0 ? -per_ms : per_ms, (uint64_t)(turn < 0 ? -turn : turn), (uint64_t)spread,
                      ROUND_HALF_EVEN, &line->slope) ||
               muldiv(per_ms, root((uint64_t)variance), 1024, ROUND_UP, &line->error) ||
               muldiv(per_ms, root((uint64_t)straight), 1024, ROUND_UP, &line->least) ||
               muldiv(lead, (uint64_t)division, (uint64_t)spread, ROUND_HALF_EVEN, &line->now) ||
               muldiv(s->rise, (uint64_t)division, PARTS, ROUND_HALF_EVEN, &line->rise) ||
               muldiv(s->fall, (uint64_t)division, PARTS, ROUND_HALF_EVEN, &line->fall);

    line->now /= PARTS;
    return !bad;
}

/* The line through FLOW_HABIT_SLOTS slots, of which `newer` newer ones are left out. */
static bool draw(const struct flow *f, const struct flow_rule *rule, unsigned newer, struct flow_line *line)
{
    struct sums sums = {0};

    for (unsigned back = newer; back < newer + FLOW_HABIT_SLOTS; back++)
        if (!add_slot(&sums, f, rule, back))
            return false;
    return sums.n > 1 && fit(&sums, rule->division, line);
}

/* A hand that eases off goes on easing off: what part of its flow is left from one quarter of the slots to the next, in
 * thousandths. Where it is surely less, the line becomes that of the newest quarter. */
int64_t flow_habit(const struct flow *f, const struct flow_rule *rule, struct flow_line *line)
{
    struct flow_line older, newer;
    int64_t left = FLOW_SAME;

    if (!draw(f, rule, FLOW_HABIT_SLOTS, &older) || !draw(f, rule, 0, &newer) || !flow_within(older.slope) ||
        !flow_within(newer.slope) || !flow_within(older.error) || !flow_within(newer.error))
        return FLOW_SAME;
    mass_pg was = older.slope < 0 ? -older.slope : older.slope, is = older.slope < 0 ? -newer.slope : newer.slope;
    if ((older.slope < 0) != (line->slope < 0)) /* it did not fall, it turned: a hand left the pan, or pours again */
        return FLOW_SAME;
    if (was == 0 || was - is <= older.error + newer.error)
        return FLOW_SAME;
    newer.rise = line->rise;
    newer.fall = line->fall;
    if (add64(newer.now, f->bins[f->slot % FLOW_BINS].mass, &newer.now) || !flow_within(newer.now))
        return FLOW_SAME;
    *line = newer;
    return is <= 0 ? 0 : muldiv(is, FLOW_SAME, (uint64_t)was, ROUND_DOWN, &left) ? FLOW_SAME : left;
}

/* How far slots lie off the chord of their neighbours, squared, is 1.5 times the variance of one; it is taken whole, for it is
 * drawn from few. In the quieter half of the window: a flow that changes bends the other one. */
int64_t flow_noise(const struct flow *f, const struct flow_rule *rule)
{
    int64_t x[3] = {0}, y[3] = {0}, sum[2] = {0}, count[2] = {0};
    unsigned seen = 0;

    for (unsigned back = 0; back < FLOW_BINS; back++) {
        struct sums one = {0};
        if (!add_slot(&one, f, rule, back) || one.n == 0)
            continue;
        x[0] = x[1], y[0] = y[1], x[1] = x[2], y[1] = y[2], x[2] = one.x, y[2] = one.y;
        if (++seen < 3)
            continue;
        int64_t off = y[1] - y[0] - (y[2] - y[0]) * (x[1] - x[0]) / (x[2] - x[0]);
        sum[back >= FLOW_BINS / 2] += off * off;
        count[back >= FLOW_BINS / 2]++;
    }
    for (unsigned k = 0; k < 2; k++)
        sum[k] = count[k] ? sum[k] / count[k] : INT64_MAX;
    sum[0] = sum[0] < sum[1] ? sum[0] : sum[1];
    return sum[0] == INT64_MAX ? 0 : sum[0] > ROUNDING_VARIANCE ? sum[0] - ROUNDING_VARIANCE : 0;
}

/* The longest window whose flow agrees with that of every shorter one (their confidence intervals meet): so a steady flow is
 * measured well, and one that has just changed, soon. */
bool flow_line(const struct flow *f, const struct flow_rule *rule, int64_t noise, struct flow_line *line)
{
    mass_pg low = INT64_MIN, high = INT64_MAX;
    struct sums sums = {.noise = noise};
    struct flow_line longer;

    for (unsigned back = 0; back < FLOW_BINS; back++) {
        int64_t n = sums.n;

        if (!add_slot(&sums, f, rule, back))
            return false;
        if (sums.n == n || sums.n < 2)
            continue;
        if (!fit(&sums, rule->division, &longer) || !flow_within(longer.slope) || !flow_within(longer.least * AGREE))
            return false;
        low = longer.slope - longer.least / 2 * AGREE > low ? longer.slope - longer.least / 2 * AGREE : low;
        high = longer.slope + longer.least / 2 * AGREE < high ? longer.slope + longer.least / 2 * AGREE : high;
        if (low > high)
            break;
        *line = longer;
    }
    return sums.n >= READINGS_LEAST && add64(line->now, f->bins[f->slot % FLOW_BINS].mass, &line->now) == FAIL_NONE &&
           flow_within(line->now);
}
