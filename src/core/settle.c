#include "core/settle.h"

#define WINDOW_US 900000u
#define SILENT_US 2000000u
#define GAP_US 450000u
#define VETO_US 5000000u
/* Sums over a window stay within 64 bits: 8 slots, twice a division each, times 4. */
#define DIVISION_MAX (100 * PG_PER_KG)

static uint64_t gap_us(const struct settle_rule *rule)
{
    return rule->gap_us ? rule->gap_us : GAP_US;
}

static uint64_t silent_us(const struct settle_rule *rule)
{
    return rule->silent_us ? rule->silent_us : SILENT_US;
}

static uint64_t veto_us(const struct settle_rule *rule)
{
    return rule->veto_us ? rule->veto_us : VETO_US;
}

static uint64_t slot_us(const struct settle_rule *rule)
{
    uint64_t window = rule->window_us ? rule->window_us : WINDOW_US, least = 2 * gap_us(rule);

    return ((window > least ? window : least) + SETTLE_BINS - 2) / (SETTLE_BINS - 1);
}

struct settle_rule settle_rule_for(const struct profile *p, mass_pg division)
{
    uint64_t gap = (uint64_t)p->period_ms * 1500, silent = (uint64_t)p->silent_ms * 1000;

    return (struct settle_rule){
        .division = division,
        .gap_us = gap < GAP_US       ? GAP_US
                  : gap > UINT32_MAX ? UINT32_MAX
                                     : (uint32_t)gap,
        .silent_us = silent > UINT32_MAX ? UINT32_MAX : (uint32_t)silent,
    };
}

void settle_reset(struct settle *s)
{
    *s = (struct settle){0};
}

static void empty_bin(struct settle_bin *bin)
{
    *bin = (struct settle_bin){.low = INT64_MAX, .high = INT64_MIN};
}

/* Does the reading go on from the newest without a break? */
static bool goes_on(const struct settle *s, const struct settle_rule *rule, const struct reading *r)
{
    uint64_t gap = gap_us(rule);

    return s->begun && r->at - s->newest.at <= gap && r->since <= r->at && r->at - r->since <= gap;
}

/* Opens the reading's slot: void slots are emptied, all of them where the window begins anew. */
static void open_slot(struct settle *s, uint64_t slot, bool anew)
{
    for (unsigned i = 0; i < SETTLE_BINS && (anew || i < slot - s->slot); i++)
        empty_bin(&s->bins[(slot - i) % SETTLE_BINS]);
    s->slot = slot;
}

/* Lowest and highest of the window lie within a division. */
static bool range_holds(const struct settle *s, mass_pg division, mass_pg *low)
{
    struct settle_bin all;

    empty_bin(&all);
    for (unsigned i = 0; i < SETTLE_BINS; i++) {
        const struct settle_bin *bin = &s->bins[i];

        if (bin->low < all.low)
            all.low = bin->low;
        if (bin->high > all.high)
            all.high = bin->high;
    }
    *low = all.low;
    return (uint64_t)all.high - (uint64_t)all.low <= (uint64_t)division; /* unsigned: the true distance at any masses */
}

struct half {
    int64_t sum, count; /* of twice a slot's middle above the lowest mass */
};

/* The four slots that end with `slot`. */
static struct half half_window(const struct settle *s, uint64_t slot, mass_pg low)
{
    struct half half = {0};

    for (unsigned i = 0; i < SETTLE_BINS / 2; i++) {
        const struct settle_bin *bin = &s->bins[(slot - i) % SETTLE_BINS];

        if (bin->low > bin->high)
            continue;
        half.sum += (bin->low - low) + (bin->high - low);
        half.count++;
    }
    return half;
}

/* The means of both halves, cross-multiplied. Neither is empty: four slots are longer than a gap. */
static bool slope_holds(const struct settle *s, mass_pg division, mass_pg low)
{
    struct half newer = half_window(s, s->slot, low), older = half_window(s, s->slot - SETTLE_BINS / 2, low);
    int64_t slope = newer.sum * older.count - older.sum * newer.count, most = division * newer.count * older.count;

    return slope <= most && -slope <= most;
}

static bool is_still(const struct settle *s, const struct settle_rule *rule, uint64_t slot_length)
{
    mass_pg low;

    if (rule->division <= 0 || rule->division > DIVISION_MAX)
        return false;
    if (s->newest.at - s->begun < (SETTLE_BINS - 1) * slot_length)
        return false;
    return range_holds(s, rule->division, &low) && slope_holds(s, rule->division, low);
}

/* Has the figure been shown by one of the two readings before it? */
static void look_back(struct settle *s, mass_pg mass, bool anew)
{
    bool known;

    s->last[1] = s->last[0];
    s->last[0] = s->newest.mass;
    if (anew) { /* nothing before it counts */
        s->last[0] = s->last[1] = mass;
        s->repeats = 0;
    }
    known = mass == s->last[0] || mass == s->last[1];
    s->lone = !known && (s->repeats & 3);
    s->repeats = (uint8_t)(s->repeats << 1 | known);
}

void settle_feed(struct settle *s, const struct settle_rule *rule, const struct reading *r)
{
    uint64_t slot_length = slot_us(rule);
    struct settle_bin *bin;
    bool anew;

    if (r->at < s->newest.at && s->newest.at - r->at <= silent_us(rule))
        return;
    anew = !goes_on(s, rule, r);
    look_back(s, r->mass, anew);
    s->newest = *r;
    s->still = false;
    if (!reading_has_weight(r)) {
        s->begun = s->vetoed_since = 0;
        return;
    }
    if (anew)
        s->begun = r->at;
    open_slot(s, r->at / slot_length, anew);
    bin = &s->bins[s->slot % SETTLE_BINS];
    if (r->mass < bin->low)
        bin->low = r->mass;
    if (r->mass > bin->high)
        bin->high = r->mass;
    s->still = is_still(s, rule, slot_length);
    if (!s->still || r->state != READING_MOVING)
        s->vetoed_since = 0;
    else if (s->vetoed_since == 0)
        s->vetoed_since = r->at;
}

static uint64_t distance(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

enum settle_state settle_judge(const struct settle *s, const struct settle_rule *rule, uint64_t now, mass_pg *mass)
{
    uint64_t age = distance(now, s->newest.at);

    if (s->newest.at == 0 || age > silent_us(rule))
        return SETTLE_SILENT;
    if (!reading_has_weight(&s->newest))
        return SETTLE_NOWEIGHT;
    if (!s->still || s->lone || age > gap_us(rule))
        return SETTLE_MOVING;
    if (s->vetoed_since && (now < s->vetoed_since || now - s->vetoed_since <= veto_us(rule)))
        return SETTLE_MOVING;
    *mass = s->newest.mass;
    return s->vetoed_since ? SETTLE_DISPUTED : SETTLE_SETTLED;
}

uint64_t settle_next(const struct settle *s, const struct settle_rule *rule, uint64_t now)
{
    uint64_t moments[3] = {s->newest.at + silent_us(rule) + 1}, next = 0;

    if (s->newest.at == 0)
        return 0;
    if (s->still)
        moments[1] = s->newest.at + gap_us(rule) + 1;
    if (s->vetoed_since)
        moments[2] = s->vetoed_since + veto_us(rule) + 1;
    for (unsigned i = 0; i < 3; i++)
        if (moments[i] > now && (next == 0 || moments[i] < next))
            next = moments[i];
    return next;
}
