/* Flow: see flow.h. */
#include "core/flow.h"

#define PERIOD_US 100000u
#define SELDOM_US 250000u
#define LAG_US 160000u
#define AIR_US 140000u
#define REACTION_US 350000u
#define EASE_US 500000u
#define HOLD_US 400000u
#define RISE_US 150000u
#define BELOW_DIVISIONS 2
#define SET_DOWN_US 400000u /* a whole target so fast was not poured */
#define BACK_US 2000000u    /* a reading so much older means that the clock was set back */
#define SLOT_US 60000u
#define DIVISION_MAX (100 * PG_PER_KG)
#define MASS_MOST (INT64_MAX / 4)
/* The line is fitted in 16ths of a division and milliseconds: then its sums stay far within 64 bits. */
#define PARTS 16
#define PARTS_MOST (INT64_C(1) << 20)
#define ROUNDING_VARIANCE (PARTS * PARTS / 12) /* of a figure rounded to the division */
#define SURE 3                                 /* a flow is one above so many standard errors */
#define AGREE 2                                /* two slopes agree within so many */
#define SLOTS_LEAST 3

static uint64_t or_default(uint32_t value, uint32_t usual)
{
    return value ? value : usual;
}

static uint64_t period_us(const struct flow_rule *rule)
{
    return or_default(rule->period_us, PERIOD_US);
}

/* Two readings may be lost. */
static uint64_t gap_us(const struct flow_rule *rule)
{
    return 3 * period_us(rule) + SLOT_US;
}

/* No shorter than most of a period, or a slow scale would not fill three of them. */
static uint64_t slot_us(const struct flow_rule *rule)
{
    uint64_t most = period_us(rule) * 3 / 5;

    return most > SLOT_US ? most : SLOT_US;
}

bool flow_tells(const struct flow_rule *rule)
{
    return !rule->mute && period_us(rule) <= SELDOM_US && rule->division > 0 && rule->division <= DIVISION_MAX;
}

struct flow_rule flow_rule_for(const struct profile *p, mass_pg division)
{
    uint64_t period = (uint64_t)p->period_ms * 1000;

    return (struct flow_rule){.division = division, .period_us = period > UINT32_MAX ? UINT32_MAX : (uint32_t)period};
}

const char *cue_text(enum flow_cue cue)
{
    static const char text[][5] = {"none", "ease", "stop"};

    return (unsigned)cue <= CUE_STOP ? text[cue] : "";
}

void flow_reset(struct flow *f)
{
    *f = (struct flow){0};
}

static uint64_t distance(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

static bool within(mass_pg mass)
{
    return mass >= -MASS_MOST && mass <= MASS_MOST;
}

/* Opens the reading's slot: void slots are emptied, all of them where it begins anew. */
static struct flow_bin *open_slot(struct flow *f, uint64_t slot, bool anew)
{
    for (unsigned i = 0; i < FLOW_BINS && (anew || i < slot - f->slot); i++)
        f->bins[(slot - i) % FLOW_BINS].count = 0;
    f->slot = slot;
    return &f->bins[slot % FLOW_BINS];
}

void flow_feed(struct flow *f, const struct flow_rule *rule, const struct reading *r)
{
    uint64_t gap = gap_us(rule), slot = r->at / slot_us(rule);
    uint32_t at = (uint32_t)(r->at % slot_us(rule));
    bool back = r->at < f->newest, fresh = r->since <= r->at && r->at - r->since <= gap;

    if (back && f->newest - r->at <= BACK_US)
        return;
    if (!reading_has_weight(r) || !within(r->mass)) {
        f->newest = 0;
        return;
    }
    struct flow_bin *bin = open_slot(f, slot, f->newest == 0 || back || r->at - f->newest > gap || !fresh);

    f->newest = r->at;
    if (bin->count == 0)
        *bin = (struct flow_bin){.mass = r->mass, .at = at};
    bin->count++;
    bin->mass += (r->mass - bin->mass) / (mass_pg)bin->count;
    bin->at += (at - bin->at) / bin->count; /* times within a slot only grow */
}

/* Sums over the slots: x in milliseconds after the newest reading (so never above 0), y in parts of a division above the
 * newest slot. */
struct sums {
    int64_t n, x, y, xx, xy, yy;
    int64_t last_x, last_y; /* of the slot added before, which is the next newer one */
    int64_t rise, fall;     /* the steepest between two neighbours, parts in a second; both >= 0 */
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
    uint64_t at = (f->slot - back) * slot_us(rule) + bin->at;
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

struct line {
    mass_pg now, slope, error; /* mass at the newest reading; per second; its standard error */
    mass_pg rise, fall;        /* the fastest between two neighbours, per second */
};

/* y = a + b x: b = (n xy - x y) / (n xx - x x). `turn` and `spread` are its two terms; the slots stray from the line by
 * (n yy - y y - b turn) / n, squared and added up. */
static bool fit(const struct sums *s, mass_pg division, struct line *line)
{
    int64_t turn = s->n * s->xy - s->x * s->y, spread = s->n * s->xx - s->x * s->x, along = 0, variance = 0;

    if (spread <= 0 || muldiv(turn, (uint64_t)(turn < 0 ? -turn : turn), (uint64_t)spread, ROUND_HALF_EVEN, &along))
        return false;
    along = s->n * s->yy - s->y * s->y - (along < 0 ? -along : along);
    variance = (along > 0 ? along : 0) / (s->n * (s->n - 2)) + ROUNDING_VARIANCE;
    if (muldiv(variance, (uint64_t)s->n << 20, (uint64_t)spread, ROUND_UP, &variance)) /* in 1024ths, squared */
        return false;

    int64_t per_ms = division / PARTS * 1000; /* one part in a millisecond, per second */
    int64_t lead = (s->y * spread - turn * s->x) / s->n;
    bool bad = muldiv(turn < 0 ? -per_ms : per_ms, (uint64_t)(turn < 0 ? -turn : turn), (uint64_t)spread,
                      ROUND_HALF_EVEN, &line->slope) ||
               muldiv(per_ms, root((uint64_t)variance), 1024, ROUND_UP, &line->error) ||
               muldiv(lead, (uint64_t)division, (uint64_t)spread, ROUND_HALF_EVEN, &line->now) ||
               muldiv(s->rise, (uint64_t)division, PARTS, ROUND_HALF_EVEN, &line->rise) ||
               muldiv(s->fall, (uint64_t)division, PARTS, ROUND_HALF_EVEN, &line->fall);

    line->now /= PARTS;
    return !bad;
}

/* The line through so many slots, if there is one. */
static bool draw(const struct flow *f, const struct flow_rule *rule, unsigned slots, struct line *line)
{
    struct sums sums = {0};

    for (unsigned back = 0; back < slots; back++)
        if (!add_slot(&sums, f, rule, back))
            return false;
    if (sums.n < SLOTS_LEAST || !fit(&sums, rule->division, line))
        return false;
    return add64(line->now, f->bins[f->slot % FLOW_BINS].mass, &line->now) == FAIL_NONE && within(line->now);
}

static bool flows(mass_pg slope, mass_pg error)
{
    return slope / SURE > error || slope / SURE < -error;
}

/* Short, or long where only that shows a flow. */
static bool best_line(const struct flow *f, const struct flow_rule *rule, struct line *line)
{
    struct line whole;
    mass_pg off = 0;

    if (!draw(f, rule, FLOW_BINS / 2, line))
        return false;
    if (flows(line->slope, line->error) || !draw(f, rule, FLOW_BINS, &whole))
        return true;
    if (!flows(whole.slope, whole.error) || sub64(whole.slope, line->slope, &off))
        return true;
    if (off / AGREE <= line->error && off / AGREE >= -line->error)
        *line = whole;
    return true;
}

/* How much comes in so long. */
static bool comes(mass_pg per_second, uint64_t us, mass_pg *mass)
{
    return muldiv(per_second, us, 1000000, ROUND_HALF_EVEN, mass) == FAIL_NONE && within(*mass);
}

static bool aim_is_good(const struct flow_aim *aim)
{
    return aim->low <= aim->target && aim->target <= aim->high && within(aim->tare) && within(aim->low) &&
           within(aim->high);
}

/* Where the net ends. False: beyond the reach of a mass. */
static bool land(const struct flow_rule *rule, const struct flow_aim *aim, const struct line *line, uint64_t age,
                 struct flow_view *view)
{
    uint64_t reaction = or_default(rule->reaction_us, REACTION_US);
    uint64_t whole = age + or_default(rule->lag_us, LAG_US) + or_default(rule->air_us, AIR_US) + reaction;
    mass_pg more, slow, unsure;

    view->net = aim->falls ? aim->tare - line->now : line->now - aim->tare;
    view->fastest = aim->falls ? line->fall : line->rise;
    view->per_second = aim->falls ? -line->slope : line->slope;
    view->uncertainty = line->error;
    if (!comes(view->per_second, whole, &more) || !comes(view->per_second, reaction / 2, &slow) ||
        !comes(view->uncertainty, 2 * whole, &unsure))
        return false;
    return !(add64(view->net, more, &view->lands) || add64(view->lands, slow, &view->late) ||
             add64(view->late, unsure, &view->late));
}

static bool grows(const struct flow_view *view)
{
    return view->known && view->per_second / SURE > view->uncertainty;
}

static enum flow_cue due(const struct flow_rule *rule, const struct flow_aim *aim, const struct flow_view *view)
{
    mass_pg soon = 0, then = 0;

    if (view->lands >= aim->target || view->late > aim->high)
        return CUE_STOP;
    if (view->late - view->lands <= aim->high - aim->target)
        return CUE_NONE;
    if (!comes(view->per_second, or_default(rule->ease_us, EASE_US), &soon) || add64(view->late, soon, &then))
        return CUE_EASE;
    return then > aim->high ? CUE_EASE : CUE_NONE;
}

struct flow_view flow_look(const struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim, uint64_t now)
{
    static const struct flow_view nothing;
    struct flow_view view = nothing;
    struct line line;
    uint64_t age = distance(now, f->newest);

    if (f->newest == 0 || !flow_tells(rule) || age > gap_us(rule) || !aim_is_good(aim))
        return nothing;
    if (!best_line(f, rule, &line) || !land(rule, aim, &line, age, &view))
        return nothing;
    view.known = true;
    bool poured = f->rise_since && !f->handled && distance(now, f->rise_since) >= or_default(rule->rise_us, RISE_US);
    if (poured && grows(&view))
        view.cue = (uint8_t)due(rule, aim, &view);
    return view;
}

/* Follows one growth from its beginning to its end. */
static void follow(struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim,
                   const struct flow_view *view, uint64_t now)
{
    mass_pg soon = 0;

    if (!grows(view)) {
        f->rise_since = 0;
        f->handled = false;
        return;
    }
    if (f->rise_since == 0) {
        f->rise_since = now;
        f->handled = view->net < -BELOW_DIVISIONS * rule->division;
    }
    if (!comes(view->fastest, SET_DOWN_US, &soon) || soon > aim->target)
        f->handled = true;
}

enum flow_cue flow_steer(struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim, uint64_t now)
{
    struct flow_view view = flow_look(f, rule, aim, now);

    follow(f, rule, aim, &view, now);
    if (f->handled)
        view.cue = CUE_NONE;
    bool lower = view.known && view.cue < f->cue;

    if (lower && f->lower_since == 0)
        f->lower_since = now;
    if (lower && now - f->lower_since < or_default(rule->hold_us, HOLD_US))
        return (enum flow_cue)f->cue;
    f->lower_since = 0;
    f->cue = view.cue;
    return (enum flow_cue)f->cue;
}

uint64_t flow_next(const struct flow *f, const struct flow_rule *rule, uint64_t now)
{
    uint64_t stale = f->newest + gap_us(rule) + 1, goes = f->lower_since + or_default(rule->hold_us, HOLD_US);
    uint64_t next = f->lower_since && goes < stale ? goes : stale;

    if (f->cue == CUE_NONE)
        return 0;
    return next > now ? next : now + 1;
}
