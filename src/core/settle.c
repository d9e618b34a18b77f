#include "core/settle.h"

/* Chosen by the bench: docs/settling.md shows what smaller and larger ones cost. */
#define QUICK_US 950000u
#define WINDOW_US 1380000u
#define TOLD_US 550000u
#define OBEYS_US 1200000u /* after so long even a slow hand has stopped */
#define FAST 200          /* divisions a second: the end of a faster flow may be hidden for longer, */
#define TAIL_US 60000u    /* by so much for each time that it is twice as fast */
#define SILENT_US 2000000u
#define GAP_US 450000u
#define VETO_US 1000000u
#define WINDOW_SLOTS 7
#define QUIET_READINGS 4
/* How much longer than its last two divisions took a level must last, in halves. */
#define PACE_HALVES 5
#define TOLD_PACE_HALVES 4
/* Until a yes may be said, which then waits for the rest. */
#define REST_US 450000u
#define REST_PACE_HALVES 3
#define EIGHTHS 8
/* Divisions; its eighths fit 16 bits twice over. Beyond it the anchor is set anew. */
#define REACH 2000
#define DIVISION_MAX (100 * PG_PER_KG)
/* Beyond so many readings of one slot (more than a thousand a second) they count for the range only. */
#define COUNT_MAX 255

uint64_t settle_gap_us(const struct settle_rule *rule)
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

static uint64_t window_us(const struct settle_rule *rule)
{
    uint64_t window = rule->window_us ? rule->window_us : WINDOW_US, least = 2 * settle_gap_us(rule);

    return window > least ? window : least;
}

static uint64_t slot_us(const struct settle_rule *rule)
{
    return (window_us(rule) + WINDOW_SLOTS - 1) / WINDOW_SLOTS;
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

static bool division_holds(const struct settle_rule *rule)
{
    return rule->division > 0 && rule->division <= DIVISION_MAX;
}

/* Does the reading go on from the newest without a break? */
static bool goes_on(const struct settle *s, const struct settle_rule *rule, const struct reading *r)
{
    uint64_t gap = settle_gap_us(rule);

    return s->begun && r->at - s->newest.at <= gap && r->since <= r->at && r->at - r->since <= gap;
}

/* Eighths of a division from the anchor, half away from zero. False: too far off. */
static bool eighths(const struct settle *s, mass_pg division, mass_pg mass, int16_t *out)
{
    mass_pg off, part;

    if (sub64(mass, s->anchor, &off) || off / division > REACH || off / division < -REACH)
        return false;
    part = off % division * (mass_pg)(2 * EIGHTHS) / division;
    *out = (int16_t)(off / division * EIGHTHS + (part + (part < 0 ? -1 : 1)) / 2);
    return true;
}

/* All begins anew at this reading. */
static void begin(struct settle *s, const struct reading *r)
{
    for (unsigned i = 0; i < SETTLE_BINS; i++)
        s->bins[i] = (struct settle_bin){0};
    for (unsigned i = 0; i < SETTLE_TRAIL; i++)
        s->left[i] = 0;
    s->anchor = r->mass;
    s->begun = s->level_since = r->at;
    s->level = s->shown = 0;
    s->level_count = 0;
    s->quiet = false;
}

static unsigned distance8(int a, int b)
{
    return (unsigned)(a < b ? b - a : a - b);
}

/* The level that is left becomes the newest of the trail. One that is left again, as in flicker, takes its old place with it. */
static void leave_level(struct settle *s, int16_t level, uint64_t at)
{
    unsigned last = 0;

    while (last < SETTLE_TRAIL - 1 && s->left[last] && distance8(s->trail[last], level) >= EIGHTHS / 2)
        last++;
    for (unsigned i = last; i > 0; i--) {
        s->trail[i] = s->trail[i - 1];
        s->left[i] = s->left[i - 1];
    }
    s->trail[0] = level;
    s->left[0] = at;
}

/* A level is left by half a division. */
static void follow_level(struct settle *s, uint64_t before, uint64_t at)
{
    if (distance8(s->shown, s->level) < EIGHTHS / 2) {
        if (s->level_count < UINT16_MAX)
            s->level_count++;
        return;
    }
    leave_level(s, s->level, before);
    s->level = s->shown;
    s->level_since = at;
    s->level_count = 1;
    s->quiet = false;
}

/* What the last two divisions took; UINT64_MAX: longer than is known. */
static uint64_t last_two_took(const struct settle *s)
{
    for (unsigned i = 0; i < SETTLE_TRAIL && s->left[i]; i++)
        if (distance8(s->trail[i], s->level) >= 2 * EIGHTHS)
            return s->level_since - s->left[i];
    return UINT64_MAX;
}

static void fill_slot(struct settle *s, uint64_t slot, bool anew)
{
    struct settle_bin *bin = &s->bins[slot % SETTLE_BINS];

    for (unsigned i = 0; !anew && i < SETTLE_BINS && i < slot - s->slot; i++)
        s->bins[(slot - i) % SETTLE_BINS] = (struct settle_bin){0};
    s->slot = slot;
    if (bin->count == 0 || s->shown < bin->low)
        bin->low = s->shown;
    if (bin->count == 0 || s->shown > bin->high)
        bin->high = s->shown;
    if (bin->count < COUNT_MAX) {
        bin->sum += s->shown;
        bin->count++;
    }
}

void settle_told(struct settle *s, const struct settle_rule *rule, uint64_t since, mass_pg per_second)
{
    s->told = since;
    s->tail_us = 0;
    for (mass_pg fast = division_holds(rule) ? per_second / rule->division : 0; fast > FAST; fast /= 2)
        s->tail_us += TAIL_US;
}

/* How long a level must be held: at least, and in halves of what its last two divisions took. */
struct patience {
    uint64_t least, pace;
};

/* Less of it once the hand has surely obeyed; who goes on after a rest is not told any more. */
static struct patience patience(const struct settle *s, const struct settle_rule *rule)
{
    uint64_t quick = rule->quick_us ? rule->quick_us : QUICK_US;
    uint64_t told = (uint64_t)(rule->told_us ? rule->told_us : TOLD_US) + s->tail_us;

    if (s->told == 0 || s->told == s->rested || s->newest.at < s->told + OBEYS_US || told > quick)
        return (struct patience){quick, PACE_HALVES};
    return (struct patience){told, TOLD_PACE_HALVES};
}

static bool is_held(const struct settle *s, const struct settle_rule *rule, struct patience p)
{
    uint64_t most = window_us(rule), took = last_two_took(s);
    uint64_t must = took < most ? took * p.pace / 2 : most;

    must = must > most ? most : must;
    must = must < p.least ? p.least : must;
    return s->level_count >= QUIET_READINGS && s->newest.at - s->level_since >= must;
}

/* Of figures less the newest one, in eighths. */
struct sums {
    int32_t sum, count;
    int low, high;
};

/* So many slots that end `back` slots before the newest. */
static struct sums add_slots(const struct settle *s, unsigned back, unsigned slots)
{
    struct sums all = {.low = INT16_MAX, .high = INT16_MIN};

    for (unsigned i = back; i < back + slots; i++) {
        const struct settle_bin *bin = &s->bins[(s->slot - i) % SETTLE_BINS];

        if (bin->count == 0)
            continue;
        all.sum += bin->sum - bin->count * s->shown;
        all.count += bin->count;
        all.low = bin->low < all.low ? bin->low : all.low;
        all.high = bin->high > all.high ? bin->high : all.high;
    }
    return all;
}

/* A flicker that is still: over so many slots at most `range` eighths wide, the newest third's mean at most `moved` from the
 * oldest's, the newest figure at most `off` from the whole mean, and at most `lead` from the newest third's, but `lag` where it
 * hangs back behind one that has moved on. */
static const struct flicker {
    uint8_t slots, range, moved, off, lead, lag;
} flickers[] = {
    {12, EIGHTHS, 4, 3, 5, 1},
    {16, 3 * EIGHTHS, 3, 4, 5, 1},
    {16, EIGHTHS, 4, 5, 5, 4},
};

static bool within(int32_t sum, int32_t low, int32_t high)
{
    return sum >= low && sum <= high;
}

/* With three divisions at most and COUNT_MAX readings a slot the products stay within 32 bits. */
static bool is_noisy(const struct settle *s, const struct flicker *f, uint64_t slot_length)
{
    unsigned third = f->slots / 3u;
    struct sums all = add_slots(s, 0, f->slots), newer = add_slots(s, 0, third);
    struct sums older = add_slots(s, f->slots - third, third);
    int32_t moved, far = f->moved * newer.count * older.count, off = f->off * all.count;

    if (s->newest.at - s->begun < f->slots * slot_length || all.high - all.low > f->range)
        return false;
    if (newer.low > older.high + EIGHTHS / 4 || older.low > newer.high + EIGHTHS / 4)
        return false;
    moved = newer.sum * older.count - older.sum * newer.count;
    return within(moved, -far, far) && within(all.sum, -off, off) &&
           within(newer.sum, -(moved < 0 ? f->lag : f->lead) * newer.count,
                  (moved > 0 ? f->lag : f->lead) * newer.count);
}

static bool is_still(const struct settle *s, uint64_t slot_length)
{
    bool still = s->quiet;

    for (unsigned i = 0; !still && i < sizeof flickers / sizeof *flickers; i++)
        still = is_noisy(s, &flickers[i], slot_length);
    return still;
}

static void weigh_mark(struct settle *s, const struct settle_rule *rule)
{
    if (!s->still || s->newest.state != READING_MOVING) {
        s->vetoed_since = 0;
        if (s->still && s->newest.state == READING_STABLE)
            s->veto_spent = false;
    } else if (s->vetoed_since == 0) {
        s->vetoed_since = s->newest.at;
    } else if (s->newest.at - s->vetoed_since > veto_us(rule)) {
        s->veto_spent = true;
    }
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
    uint64_t before = s->newest.at;
    bool anew;

    if (r->at < s->newest.at && s->newest.at - r->at <= silent_us(rule))
        return;
    anew = !goes_on(s, rule, r);
    look_back(s, r->mass, anew);
    s->newest = *r;
    s->still = false;
    if (!reading_has_weight(r) || !division_holds(rule)) {
        s->begun = s->vetoed_since = 0;
        return;
    }
    if (anew || !eighths(s, rule->division, r->mass, &s->shown)) {
        begin(s, r);
        if (!anew)
            leave_level(s, INT16_MAX, before);
        anew = true;
    }
    follow_level(s, before, r->at);
    fill_slot(s, r->at / slot_length, anew);
    if (!s->quiet && is_held(s, rule, patience(s, rule))) {
        /* not told any more, as soon as it is asked about: that undoes no rest */
        s->quiet = true;
        s->rested = s->told;
    }
    s->still = is_still(s, slot_length);
    weigh_mark(s, rule);
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
    if (!s->still || s->lone || age > settle_gap_us(rule))
        return SETTLE_MOVING;
    if (s->vetoed_since && !s->veto_spent && (now < s->vetoed_since || now - s->vetoed_since <= veto_us(rule)))
        return SETTLE_MOVING;
    *mass = s->newest.mass;
    return s->vetoed_since ? SETTLE_DISPUTED : SETTLE_SETTLED;
}

bool settle_rests(const struct settle *s, const struct settle_rule *rule, uint64_t now)
{
    if (s->begun == 0 || s->lone || distance(now, s->newest.at) > settle_gap_us(rule))
        return false;
    return s->still || is_held(s, rule, (struct patience){REST_US, REST_PACE_HALVES});
}

uint64_t settle_next(const struct settle *s, const struct settle_rule *rule, uint64_t now)
{
    uint64_t moments[3] = {s->newest.at + silent_us(rule) + 1}, next = 0;

    if (s->newest.at == 0)
        return 0;
    if (s->still)
        moments[1] = s->newest.at + settle_gap_us(rule) + 1;
    if (s->vetoed_since)
        moments[2] = s->vetoed_since + veto_us(rule) + 1;
    for (unsigned i = 0; i < 3; i++)
        if (moments[i] > now && (next == 0 || moments[i] < next))
            next = moments[i];
    return next;
}
