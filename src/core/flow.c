/* Flow: see flow.h; the line through the readings is in flow_line.c. */
#include "core/flow_line.h"

#define SELDOM_US 250000u
#define REACTION_US 350000u
#define EASE_US 360000u
#define EASE_HOLD_US 280000u
#define EASE_STAYS_US 10000000u
#define POURS_AGAIN_US 290000u /* what came before it was eased off, for so long, must have room */
#define NEARLY_NOTHING 20      /* less than this part of the target: filling has only begun */
#define OBEYS_TENTHS 13        /* of a reaction: until then whoever is told to ease off has surely done so */
#define SHOWS_TENTHS 6         /* and where it can't be seen yet, it is expected after so much more */
#define BELIEVED_TENTHS 26     /* but not beyond this */
#define HOLD_US 400000u
#define RISE_US 110000u
#define BACK_US 2000000u /* a reading so much older means that the clock was set back */
#define BELOW_DIVISIONS 2
#define SET_DOWN_US 400000u /* a whole target so fast was not poured */
#define DIVISION_MAX (100 * PG_PER_KG)
#define SURE 3            /* a flow is one above so many standard errors */
#define STEADY_US 500000u /* one that was for so long */
#define SURE_STILL 1      /* still is above so many: while it changes its error is large */

/* Two readings may be lost. */
static uint64_t gap_us(const struct flow_rule *rule)
{
    return 3 * flow_period_us(rule) + FLOW_SLOT_US;
}

bool flow_tells(const struct flow_rule *rule)
{
    return FLOW_CUE && !rule->mute && flow_period_us(rule) <= SELDOM_US && rule->division > 0 &&
           rule->division <= DIVISION_MAX;
}

struct flow_rule flow_rule_for(const struct profile *p, mass_pg division)
{
    uint64_t period = (uint64_t)p->period_ms * 1000;

    return (struct flow_rule){.mute = p->sends == SENDS_SETTLED || p->sends == SENDS_KEY,
                              .division = division,
                              .period_us = period > UINT32_MAX ? UINT32_MAX : (uint32_t)period};
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
    uint64_t gap = gap_us(rule), slot = r->at / flow_slot_us(rule);
    uint32_t at = (uint32_t)(r->at % flow_slot_us(rule));
    bool back = r->at < f->newest, fresh = r->since <= r->at && r->at - r->since <= gap;

    if (back && f->newest - r->at <= BACK_US)
        return;
    if (!reading_has_weight(r) || !flow_within(r->mass)) {
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

/* How much comes in so long. */
static bool comes(mass_pg per_second, uint64_t us, mass_pg *mass)
{
    return muldiv(per_second, us, 1000000, ROUND_HALF_EVEN, mass) == FAIL_NONE && flow_within(*mass);
}

/* What is over can't stay (a regulated ingredient): then it is rather left short. */
static bool none_above(const struct flow_aim *aim)
{
    return aim->high == aim->target;
}

static bool aim_is_good(const struct flow_aim *aim)
{
    return aim->low <= aim->target && aim->target <= aim->high && flow_within(aim->tare) && flow_within(aim->low) &&
           flow_within(aim->high);
}

/* How the flow is expected to go on: as it is for `steady_us`, then by `left` thousandths in each `each_us`. */
struct course {
    mass_pg per_second;
    uint64_t steady_us, each_us;
    int64_t left;
};

/* What comes in so long. */
static bool comes_so(const struct course *c, uint64_t us, mass_pg *mass)
{
    uint64_t steady = c->steady_us < us ? c->steady_us : us;
    mass_pg flow = c->per_second, part;

    if (!comes(flow, steady, mass))
        return false;
    for (uint64_t left = us - steady, step; left && flow; left -= step) {
        step = left < c->each_us ? left : c->each_us;
        flow = flow / FLOW_SAME * c->left;
        if (!comes(flow, step, &part) || add64(*mass, part, mass))
            return false;
    }
    return flow_within(*mass);
}

static uint64_t lag_us(const struct flow_rule *rule)
{
    return rule->lag_us ? rule->lag_us : 20000 + flow_period_us(rule) * 3 / 2;
}

/* A flow that falls goes on falling. One whose hand was told to ease off, but that does not show it yet, stays for a slow
 * reaction, and of it a tenth after that. What falls from high above shows it later still: so it is believed for a while, or
 * "stop" would come to a hand that has eased off already. */
static struct course course_of(const struct flow *f, const struct flow_rule *rule, mass_pg per_second, int64_t left,
                               bool believed)
{
    uint64_t tenth = flow_or(rule->reaction_us, REACTION_US) / 10, seen = f->newest - lag_us(rule);
    uint64_t obeys = f->eased_at + tenth * OBEYS_TENTHS, soon = seen + tenth * SHOWS_TENTHS;

    if (left < FLOW_SAME)
        return (struct course){per_second, 0, FLOW_HABIT_SLOTS * flow_slot_us(rule), left};
    if (believed && f->eased_at && f->newest > lag_us(rule) && seen < f->eased_at + tenth * BELIEVED_TENTHS)
        return (struct course){per_second, (obeys > soon ? obeys : soon) - seen, UINT64_MAX, FLOW_SAME / 10};
    return (struct course){per_second, UINT64_MAX, UINT64_MAX, FLOW_SAME};
}

/* Where the net ends. False: beyond the reach of a mass. */
static bool land(const struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim,
                 const struct flow_line *line, int64_t left, uint64_t age, struct flow_view *view)
{
    uint64_t reaction = flow_or(rule->reaction_us, REACTION_US);
    uint64_t whole = age + lag_us(rule) + rule->air_us + reaction;
    mass_pg more, unsure;

    view->net = aim->falls ? aim->tare - line->now : line->now - aim->tare;
    view->fastest = aim->falls ? line->fall : line->rise;
    view->per_second = aim->falls ? -line->slope : line->slope;
    view->uncertainty = line->error;
    struct course course = course_of(f, rule, view->per_second, left, !none_above(aim));
    if (!comes_so(&course, whole, &more) || !comes(view->per_second, reaction / 2, &view->spread) ||
        !comes(view->uncertainty, whole, &unsure))
        return false;
    return !(add64(view->net, more, &view->lands) || add64(view->lands, view->spread, &view->late) ||
             add64(view->late, unsure, &view->late) || !flow_within(view->lands) || !flow_within(view->late));
}

static bool grows(const struct flow *f, const struct flow_view *view)
{
    bool steady = f->rise_since && f->newest >= f->rise_since + STEADY_US;

    return view->known && view->per_second / (steady ? SURE_STILL : SURE) > view->uncertainty;
}

/* Who obeys at once is not left short. A flow that can be stopped in the band needs little for that; of a faster one more is
 * guessed, and its hand most likely eases off by itself. */
static bool stops_in(const struct flow_aim *aim, const struct flow_view *view, mass_pg room)
{
    mass_pg tenth = view->spread / 10, fits = room / 10 * 7;

    return view->net >= aim->low || view->lands - tenth * (view->spread < fits ? 7 : 18) >= aim->low;
}

/* Whoever is no longer told to ease off pours again as before: there is room for that. */
static bool may_pour_again(const struct flow_aim *aim, const struct flow_view *view, mass_pg before)
{
    mass_pg more = 0;

    return comes(before, POURS_AGAIN_US, &more) && more <= aim->high - view->lands;
}

static enum flow_cue due(const struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim,
                         const struct flow_view *view)
{
    mass_pg middle = aim->low + (aim->high - aim->low) / 2, target = aim->target < middle ? aim->target : middle;
    mass_pg room = aim->high - target, unsure = view->late - view->lands, soon = 0;
    bool eased = f->cue == CUE_EASE;

    if (none_above(aim) ? view->lands >= target - room / 2 : stops_in(aim, view, room))
        return CUE_STOP;
    if (f->before && !may_pour_again(aim, view, f->before))
        return CUE_EASE;
    if (unsure <= (eased ? room / 2 : room))
        return CUE_NONE;
    if (!comes(view->per_second, eased ? EASE_STAYS_US : flow_or(rule->ease_us, EASE_US), &soon))
        return CUE_EASE;
    return soon > aim->high - view->late ? CUE_EASE : CUE_NONE;
}

struct flow_view flow_look(const struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim, uint64_t now)
{
    static const struct flow_view nothing;
    struct flow_view view = nothing;
    struct flow_line line;
    uint64_t age = distance(now, f->newest);

    if (f->newest == 0 || !flow_tells(rule) || age > gap_us(rule) || !aim_is_good(aim))
        return nothing;
    if (!flow_line(f, rule, flow_noise(f, rule), &line))
        return nothing;
    int64_t left = flow_habit(f, rule, &line);
    if (!land(f, rule, aim, &line, left, age, &view))
        return nothing;
    view.known = true;
    bool poured = f->rise_since && !f->handled && distance(now, f->rise_since) >= flow_or(rule->rise_us, RISE_US);
    if (poured && grows(f, &view))
        view.cue = (uint8_t)due(f, rule, aim, &view);
    return view;
}

static uint64_t hold_us(const struct flow *f, const struct flow_rule *rule)
{
    return f->cue == CUE_EASE ? EASE_HOLD_US : flow_or(rule->hold_us, HOLD_US);
}

/* Follows one growth from its beginning to its end. */
static void follow(struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim,
                   const struct flow_view *view, uint64_t now)
{
    mass_pg soon = 0;

    if (view->net < aim->target / NEARLY_NOTHING)
        f->before = 0;
    if (!grows(f, view)) {
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

/* Kept until the net falls, or grows for longer than a knock lasts, and is not to be stopped. */
static void remember_stop(struct flow *f, const struct flow_rule *rule, const struct flow_view *view, uint64_t now)
{
    bool up = grows(f, view) && distance(now, f->rise_since) >= flow_or(rule->rise_us, RISE_US);
    bool down = view->known && -view->per_second / SURE > view->uncertainty;

    if (view->cue == CUE_STOP && f->cue != CUE_STOP) {
        f->stopped_at = now;
        f->stopped = view->per_second;
    } else if (view->cue != CUE_STOP && (up || down)) {
        f->stopped_at = 0;
    }
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
    if (lower && now - f->lower_since < hold_us(f, rule))
        return (enum flow_cue)f->cue;
    f->lower_since = 0;
    remember_stop(f, rule, &view, now);
    if (f->cue == CUE_NONE && view.cue != CUE_NONE)
        f->eased_at = now;
    if (f->cue == CUE_NONE && view.cue == CUE_EASE && view.per_second > f->before)
        f->before = view.per_second;
    if (view.cue == CUE_NONE)
        f->eased_at = 0;
    f->cue = view.cue;
    return (enum flow_cue)f->cue;
}

uint64_t flow_next(const struct flow *f, const struct flow_rule *rule, uint64_t now)
{
    uint64_t stale = f->newest + gap_us(rule) + 1, goes = f->lower_since + hold_us(f, rule);
    uint64_t next = f->lower_since && goes < stale ? goes : stale;

    if (f->cue == CUE_NONE)
        return 0;
    return next > now ? next : now + 1;
}
