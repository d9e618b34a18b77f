/* The judge: knows the true mass at each instant, says of every acceptance whether it was true, and when an oracle that knows
 * the future would have accepted.
 *
 * False: the accepted value differs by more than one division from what counts as mass on the platform (the true mass and
 * what no reading can tell from it, see plant/disturb.h; a force that comes or goes counts with and without for 0.4 s, for
 * no figure can show it sooner), or the true mass still changes by more than one division a second, with and without what
 * those forces change by.
 * Oracle: the first reading of the fill, in the band, from which reading and truth stay within half a division of each other
 * and the truth within half a division of itself for 3 s. */
#include <math.h>

#include "tests/bench/pour/world.h"

#define FORCE_MS 400
#define RATE_MS 50
#define ORACLE_S 3.0
#define HAIR 1e-6 /* of a division: an edge is not beyond it */

static double counts_d(const struct world *w)
{
    return (w->disturb.counts_g - w->indicator.zero_g) / w->c.d_g;
}

/* What counts as mass in the container, in divisions. What rested on the pan when the tare was taken is taken away with it. */
double judge_net_d(const struct world *w)
{
    return (double)(w->platform.load - w->tare_load) / (double)w->c.division + counts_d(w) - w->tare_counts_d;
}

void judge_step(struct world *w, mass_pg by_hand)
{
    w->moved[w->now_ms % HISTORY_MS] = by_hand;
    if (w->now_ms % 16 == 0)
        w->counts_d[w->now_ms / 16 % (HISTORY_MS / 16)] = counts_d(w);
    double net_d = judge_net_d(w);
    if (w->tared && !w->done && net_d > w->peak_net_d)
        w->peak_net_d = net_d;
    if (w->tared && !w->done && w->platform.load - w->tare_load > w->peak_in)
        w->peak_in = w->platform.load - w->tare_load;
}

/* Divisions a second, now. A drop of less than a division is not a flow: its mean counts. */
static double rate_d_s(const struct world *w)
{
    mass_pg sum = 0;
    for (unsigned k = 0; k < RATE_MS; k++)
        sum += w->moved[(w->now_ms + HISTORY_MS - k) % HISTORY_MS];
    double d = (double)sum / (double)w->c.division * (1000.0 / RATE_MS);
    return d + (w->disturb.now_s < w->disturb.trickle_until_s ? w->c.disturb.trickle_d_s : 0);
}

/* What the forces that count have come to in the last 0.4 s. */
static void counted(const struct world *w, double *least, double *most)
{
    *least = *most = counts_d(w);
    for (unsigned k = 0; k < FORCE_MS / 16 && k < w->now_ms / 16; k++) {
        double c = w->counts_d[(w->now_ms / 16 - k) % (HISTORY_MS / 16)];
        *least = fmin(*least, c);
        *most = fmax(*most, c);
    }
}

void judge_tare(struct world *w, mass_pg tare)
{
    double least, most;
    w->out.tare = judge_weight(w, tare);
    w->tare_load = w->platform.load;
    counted(w, &least, &most);
    w->tare_counts_d = fmin(fmax(w->out.tare.error_mass_d, least), most);
}

bool judge_missed(const struct world *w)
{
    double least, most;
    counted(w, &least, &most);
    return judge_net_d(w) - counts_d(w) + least > (double)w->high / (double)w->c.division + 2;
}

struct verdict_of judge_weight(const struct world *w, mass_pg gross)
{
    struct verdict_of v = {.accepted = true, .at_s = w->now_s, .rate_d_s = rate_d_s(w)};
    double least, most;
    counted(w, &least, &most);
    v.error_mass_d = (double)(gross - w->platform.load) / (double)w->c.division;
    v.error_d = fmax(v.error_mass_d - most, 0) + fmin(v.error_mass_d - least, 0);
    double forces_d_s =
        (counts_d(w) - w->counts_d[(w->now_ms - FORCE_MS) / 16 % (HISTORY_MS / 16)]) / (FORCE_MS * 0.001);
    double changes_d_s = fmin(fabs(v.rate_d_s), fabs(v.rate_d_s + forces_d_s));
    v.wrong = fabs(v.error_d) > 1 + HAIR || changes_d_s > 1 + HAIR;
    return v;
}

static bool in_band(const struct world *w, const struct reading *r)
{
    mass_pg tare = w->s.item_count ? w->s.items[0].tare : 0, net = r->mass - tare;
    return w->tared && net >= w->low && net <= w->high;
}

static void naive(struct world *w, enum pour_rule rule, bool settled, const struct reading *r)
{
    struct verdict_of *v = &w->out.net[rule];
    if (settled && !v->accepted && in_band(w, r) && !person_is_beginning(w))
        *v = judge_weight(w, r->mass);
}

void judge_reading(struct world *w, const struct reading *r)
{
    if (w->heard_count < HEARD_MAX)
        w->heard[w->heard_count++] = (struct heard){
            .at_s = w->now_s,
            .mass_d = (double)r->mass / (double)w->c.division,
            .truth_d = (double)w->platform.load / (double)w->c.division + counts_d(w),
            .in_band = in_band(w, r),
        };
    w->equal = reading_has_weight(r) && r->mass == w->last_mass ? w->equal + 1 : 1;
    w->last_mass = r->mass;
    naive(w, RULE_EQUAL, w->equal >= EQUAL_READINGS, r);
    naive(w, RULE_MARK, r->state == READING_STABLE, r);
    if (w->trace)
        w->trace(w, r, "");
}

static bool oracle_at(const struct world *w, unsigned k)
{
    const struct heard *first = &w->heard[k];
    for (; k < w->heard_count; k++) {
        const struct heard *h = &w->heard[k];
        if (h->at_s > first->at_s + ORACLE_S)
            return true;
        if (fabs(h->mass_d - h->truth_d) > 0.5 + HAIR || fabs(h->truth_d - first->truth_d) > 0.5 + HAIR)
            return false;
    }
    return false;
}

static void ask_oracle(struct world *w)
{
    for (unsigned k = 0; k < w->heard_count && !w->out.oracle_accepts; k++)
        if (w->heard[k].in_band && oracle_at(w, k)) {
            w->out.oracle_accepts = true;
            w->out.oracle_s = w->heard[k].at_s;
        }
}

void judge_end(struct world *w)
{
    struct outcome *o = &w->out;
    o->seed = w->c.seed;
    o->class = (uint8_t)w->c.class;
    o->mark = w->c.frames.mark;
    o->tenth = w->c.tenth;
    o->stream = case_is_stream(&w->c);
    o->end_s = w->now_s;
    ask_oracle(w);
    for (unsigned k = 0; k < RULES; k++)
        o->delay_s[k] = o->net[k].accepted ? fmax(o->net[k].at_s - o->oracle_s, 0) : INFINITY;
    o->yes_delay_s = o->net[RULE_OURS].accepted ? fmax(w->yes_s - o->oracle_s, 0) : INFINITY;
    o->oracle_accepts = o->oracle_accepts && !o->caught;
    o->hidden = o->net[RULE_OURS].accepted && !o->missed &&
                (double)(w->end_load - w->c.container) > (double)w->high + 2 * (double)w->c.division;
    o->over = w->tared && w->peak_net_d > (double)w->high / (double)w->c.division + 0.5;
    o->laden = w->tared && w->peak_in > w->high + w->c.division / 2;
    o->cue = w->cue_from_s >= 0;
}
