/* The person: sets the container down, fills it (by the hand's model, or away from the scale), lets go. Asked to clear the
 * platform, it takes all off, presses the scale's zero key or says that it is empty, and puts it back, as the screen asks. */
#include <math.h>

#include "tests/bench/pour/world.h"

#define LOOK_MS 20
#define BEGINNING_S 1.0
#define KEY_AGAIN_S 4.0 /* the scale forgets its key sooner */

void person_begin(struct world *w)
{
    w->person = (struct person_model){.doing = PERSON_WAITS, .acted_s = -1};
    random_seed(&w->person.bin, w->c.seed ^ UINT64_C(0x62696e73));
}

bool person_is_beginning(const struct world *w)
{
    return w->person.acts && w->now_s < w->person.acted_s + BEGINNING_S;
}

static void acts(struct world *w, bool now)
{
    struct person_model *p = &w->person;
    if (now && !p->acts) {
        p->acted_s = w->now_s;
        disturb_take_up(&w->disturb);
    }
    if (!now && p->acts)
        disturb_let_go(&w->disturb);
    p->acts = now;
}

/* Sets down (lifts off) so much within a time, softly at both ends. */
static void ramp(struct world *w, enum person_doing doing, mass_pg by, double for_s)
{
    struct person_model *p = &w->person;
    p->doing = (uint8_t)doing;
    p->ramp_from = w->platform.load;
    p->ramp_by = by;
    p->ramp_from_s = w->now_s;
    p->ramp_for_s = for_s;
    acts(w, true);
}

/* True once it is done. */
static bool ramp_step(struct world *w)
{
    struct person_model *p = &w->person;
    double t = (w->now_s - p->ramp_from_s) / p->ramp_for_s;
    if (t >= 1) {
        w->platform.load = p->ramp_from + p->ramp_by;
        return true;
    }
    w->platform.load = p->ramp_from + (mass_pg)((double)p->ramp_by * t * t * (3 - 2 * t));
    return false;
}

static void hand_over(struct world *w)
{
    w->person.begun = true;
    w->person.doing = PERSON_FILLS;
    hand_begin(&w->person.hand, &w->c.hand, w->c.extra_g, w->now_s, w->c.seed ^ UINT64_C(0x68616e64));
}

static bool off_asked(const struct world *w)
{
    const struct prompt *asked = &w->s.prompt;
    return !w->done && (asked->ask == ASK_CLEAR || (asked->ask == ASK_CONFIRM && asked->what == WHAT_EMPTY));
}

/* True once it has seen this prompt for as long as it takes to begin what it asks. */
static bool reacts(struct world *w)
{
    struct person_model *p = &w->person;
    if (p->seen != w->s.prompt.id) {
        p->seen = w->s.prompt.id;
        p->seen_s = w->now_s;
    }
    return w->now_s >= p->seen_s + w->c.first_s;
}

static bool flows(const struct world *w)
{
    return w->person.flow_g_s != 0 || fabs(w->person.valve_g_s) >= 0.01 * w->c.d_g || w->air.flying != 0;
}

/* Nothing is on it. The zero key, where the screen tells of it, is pressed again while it is still asked for. */
static void answer_empty(struct world *w)
{
    if (w->s.prompt.ask != ASK_CLEAR) {
        station_yes(w);
    } else if (w->zero_asked) {
        indicator_zero(&w->indicator);
        w->person.seen_s = w->now_s + KEY_AGAIN_S - w->c.first_s;
    }
}

/* Lets the stream run out, then lifts off what stands there. */
static void clear(struct world *w)
{
    struct person_model *p = &w->person;
    p->flow_g_s = 0;
    if (flows(w))
        return;
    p->held = w->platform.load;
    ramp(w, PERSON_CLEARS, -p->held, w->c.set_s);
}

/* It is to be tared once more: what was in it is thrown away. */
static void start_anew(struct world *w)
{
    struct person_model *p = &w->person;
    acts(w, false);
    p->doing = PERSON_WAITS;
    p->begun = p->scooped = w->tared = false;
    w->peak_in = 0;
    w->peak_net_d = 0;
}

static void stand_by(struct world *w)
{
    uint8_t ask = w->s.prompt.ask;
    if (!reacts(w))
        return;
    if (off_asked(w))
        answer_empty(w);
    else if (ask == ASK_CONTAINER && !w->s.prompt.back)
        start_anew(w);
    else if (ask == ASK_CONTAINER || ask == ASK_FILL)
        ramp(w, PERSON_RETURNS, w->person.held, w->c.set_s);
}

/* The container stands there again: goes on by what the screen shows, as after any other rest. */
static void go_on(struct world *w)
{
    struct person_model *p = &w->person;
    struct hand_spec spec = w->c.hand;
    acts(w, false);
    p->doing = p->begun ? PERSON_FILLS : PERSON_WAITS;
    if (!p->begun)
        return;
    spec.hesitate_s = 0;
    hand_begin(&p->hand, &spec, 0, w->now_s, w->c.seed ^ UINT64_C(0x6261636b));
    p->hand.doing = HAND_WAITS;
}

/* Filled at the bin as well as the person can judge it there. */
static void bring_back(struct world *w)
{
    struct person_model *p = &w->person;
    double share = 0.9 + 0.12 * random_normal(&p->bin);
    mass_pg filled = (mass_pg)((double)w->c.target * fmin(fmax(share, 0.3), 1.3));
    p->held = w->c.container + filled;
    p->begun = true;
    if (off_asked(w) || w->s.prompt.ask == ASK_CONTAINER)
        p->doing = PERSON_STANDS_BY;
    else
        ramp(w, PERSON_BACK, p->held, w->c.set_s * 1.5);
}

static struct hand_view view_of(const struct world *w)
{
    struct hand_view v = {0};
    mass_pg net, gross;
    v.fresh = sequence_net(&w->s, w->now_ms * 1000 + 1, &net);
    if (!v.fresh)
        return v;
    v.settled = sequence_scale(&w->s, 0, w->now_ms * 1000 + 1, &gross) >= SETTLE_SETTLED;
    v.says_over = w->s.prompt.ask == ASK_OVER;
    v.cue = w->cued && !w->how.deaf ? w->cue : CUE_NONE;
    v.net_g = (double)net * 1e-12;
    v.low_g = (double)w->low * 1e-12;
    v.high_g = (double)w->high * 1e-12;
    return v;
}

/* The cue is needless if who obeyed it was left below the band. */
static void see_obeyed(struct world *w)
{
    struct person_model *p = &w->person;
    if (!p->hand.obeyed || p->obeyed)
        return;
    p->obeyed = true;
    w->out.needless = w->platform.load - w->c.container < w->low;
}

/* Sets the container down, begins to fill it, or takes it to the bin. */
static void begin(struct world *w)
{
    struct person_model *p = &w->person;
    bool container = w->s.prompt.ask == ASK_CONTAINER && !w->tared, fill = w->tared && !w->done;
    if (!container && !fill)
        return;
    if (!p->asked)
        p->since_s = w->now_s;
    p->asked = true;
    if (w->now_s < p->since_s + w->c.first_s)
        return;
    p->asked = false;
    if (container && w->platform.load == 0)
        ramp(w, PERSON_SETS, w->c.container, w->c.set_s);
    else if (fill && w->c.scoops && !p->scooped)
        ramp(w, PERSON_LIFTS, -w->platform.load, w->c.set_s);
    else if (fill)
        hand_over(w);
    if (fill && w->begun_s < 0)
        w->begun_s = w->now_s;
}

static void pour_on(struct world *w)
{
    struct person_model *p = &w->person;
    struct hand_view v = view_of(w);
    if (w->cued && w->how.oracle)
        v.cue = oracle_cue(w);
    bool rested = p->flow_g_s == 0;
    bool said_yes = rested && w->s.yes_since; /* nobody goes on then, before it is answered */
    if (!said_yes)
        p->flow_g_s = w->done ? 0 : hand_step(&p->hand, w->now_s, &v);
    if (rested && p->flow_g_s != 0)
        p->acted_s = w->now_s;
    if (!flows(w)) {
        acts(w, false);
        see_obeyed(w);
    }
    if (p->flow_g_s != 0)
        acts(w, true);
}

static void look(struct world *w)
{
    struct person_model *p = &w->person;
    bool here = p->doing == PERSON_WAITS || p->doing == PERSON_FILLS;
    if (!off_asked(w))
        w->zero_asked = false;
    if (p->doing == PERSON_STANDS_BY)
        stand_by(w);
    else if (here && off_asked(w) && reacts(w) && w->platform.load > 0)
        clear(w);
    else if (here && off_asked(w) && reacts(w))
        answer_empty(w);
    else if (p->doing == PERSON_FILLS)
        pour_on(w);
    else if (p->doing == PERSON_WAITS)
        begin(w);
}

mass_pg person_flows(struct person_model *p, const struct pour_case *c)
{
    bool stream = c->hand.piece_g <= 0 && p->hand.doing != HAND_SPOONS && p->flow_g_s >= 0;
    p->valve_g_s = stream ? p->valve_g_s + (p->flow_g_s - p->valve_g_s) * 0.001 / c->valve_s : p->flow_g_s;
    if (stream && p->flow_g_s == 0 && p->valve_g_s < 0.05 * c->d_g)
        p->valve_g_s = 0;
    p->carried_pg += p->valve_g_s * 1e9;
    mass_pg whole = (mass_pg)p->carried_pg;
    p->carried_pg -= (double)whole;
    return whole;
}

static void fill_step(struct world *w)
{
    mass_pg moves = person_flows(&w->person, &w->c), floor = w->c.container - w->platform.load;
    if (moves >= 0) {
        w->platform.load += air_step(&w->air, moves);
        return;
    }
    w->platform.load += air_step(&w->air, 0) + (moves > floor ? moves : floor);
}

void person_step(struct world *w)
{
    struct person_model *p = &w->person;
    if (w->now_ms % LOOK_MS == 0)
        look(w);
    switch ((enum person_doing)p->doing) {
    case PERSON_SETS:
        if (ramp_step(w)) {
            p->doing = PERSON_WAITS;
            acts(w, false);
        }
        break;
    case PERSON_LIFTS:
        if (ramp_step(w)) {
            p->doing = PERSON_AWAY;
            p->scooped = true;
            p->since_s = w->now_s;
        }
        break;
    case PERSON_AWAY:
        if (w->now_s > p->since_s + w->c.scoop_s)
            bring_back(w);
        break;
    case PERSON_BACK:
        if (ramp_step(w)) {
            acts(w, false);
            hand_over(w);
        }
        break;
    case PERSON_CLEARS:
        if (ramp_step(w))
            p->doing = PERSON_STANDS_BY;
        break;
    case PERSON_RETURNS:
        if (ramp_step(w))
            go_on(w);
        break;
    case PERSON_FILLS:
        fill_step(w);
        break;
    default:
        break;
    }
}
