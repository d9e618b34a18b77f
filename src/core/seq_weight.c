/* What weights do by themselves: platforms that are cleared, containers, and the prompts that a net answers. */
#include "core/seq_internal.h"

/* A platform counts as empty within one division of zero or of what it showed when it was last empty, and as loaded above two. Its
 * zero may wander by so many divisions in all before the scale itself must be zeroed: far less than the 4 % of capacity
 * that a zero key may take up (OIML R 76-1, 4.5.1, from memory), for a cup would hide in those. */
#define ZERO_DIVISIONS 1
#define WANDER_DIVISIONS 3
#define LOAD_DIVISIONS 2
/* CONFIRM and UNDER close when the net has moved by more than this. */
#define MOVED_DIVISIONS 2
/* A scale's zero drifts by fewer while one ingredient is weighed; a cup that is so much lighter than its tare is another. */
#define LIGHTER_DIVISIONS 5
/* What lies on a platform that is to be cleared, or is lighter than it was, is said after so long. */
#define ODD_TICKS 3000

mass_pg seq_division(const struct sequence *s, uint8_t scale)
{
    return s->setup->scales[scale].division;
}

/* What can't be reckoned is farther away than anything. */
mass_pg seq_distance(mass_pg a, mass_pg b)
{
    mass_pg d = 0;
    if (sub64(a, b, &d) || d == INT64_MIN)
        return INT64_MAX;
    return d < 0 ? -d : d;
}

bool seq_near(const struct sequence *s, uint8_t scale, mass_pg a, mass_pg b, int divisions)
{
    uint64_t off = a > b ? (uint64_t)a - (uint64_t)b : (uint64_t)b - (uint64_t)a;
    return off <= (uint64_t)(divisions * seq_division(s, scale));
}

bool seq_empty(const struct sequence *s, uint8_t scale, mass_pg gross)
{
    return seq_near(s, scale, gross, 0, ZERO_DIVISIONS) ||
           (seq_near(s, scale, gross, s->scales[scale].zero, ZERO_DIVISIONS) &&
            seq_near(s, scale, gross, 0, WANDER_DIVISIONS));
}

static bool loaded_above(const struct sequence *s, uint8_t scale, mass_pg gross, int divisions)
{
    mass_pg zero = s->scales[scale].zero;
    return gross > zero && !seq_near(s, scale, gross, zero, divisions);
}

bool seq_loaded(const struct sequence *s, uint8_t scale, mass_pg gross)
{
    return loaded_above(s, scale, gross, LOAD_DIVISIONS);
}

enum settle_state sequence_scale(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross)
{
    if (s->setup->scales[scale].agreeing)
        return agree_judge(&s->scales[scale].agree, &s->scales[scale].settle.newest, now, gross);
    return settle_judge(&s->scales[scale].settle, &s->setup->scales[scale].settle, now, gross);
}

bool seq_settled(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross, bool *disputed)
{
    return seq_unsettled(s, scale, now, gross, disputed) == REFUSED_COUNT;
}

enum refusal_code seq_unsettled(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross, bool *disputed)
{
    enum settle_state state = sequence_scale(s, scale, now, gross);
    *disputed = state == SETTLE_DISPUTED;
    return state <= SETTLE_NOWEIGHT ? REFUSED_STALE : state == SETTLE_MOVING ? REFUSED_MOVING : REFUSED_COUNT;
}

bool seq_item_net(const struct sequence *s, const struct item *it, mass_pg gross, mass_pg *net)
{
    if (it->status != ITEM_TARED)
        return false;
    if (it->way == WAY_BAG) /* the lifted bag would else look as if all of it had been taken */
        return gross > s->scales[it->scale].zero + ZERO_DIVISIONS * seq_division(s, it->scale) &&
               sub64(it->tare, gross, net) == FAIL_NONE;
    return sub64(gross, it->tare, net) == FAIL_NONE;
}

/* By the newest reading, settled or not: it is what the person pours by. */
bool sequence_net(const struct sequence *s, uint64_t now, mass_pg *net)
{
    const struct item *it = sequence_item(s, s->current);
    mass_pg gross;
    if (!it || it->scale >= s->setup->scale_count)
        return false;
    if (s->typed) {
        *net = s->typed_net;
        return true;
    }
    enum settle_state state = sequence_scale(s, it->scale, now, &gross);
    if (state == SETTLE_SILENT || state == SETTLE_NOWEIGHT)
        return false;
    return seq_item_net(s, it, s->scales[it->scale].settle.newest.mass, net);
}

enum verdict seq_judge(const struct item *it, mass_pg net)
{
    const struct band band = {it->target, it->low, it->high};
    return it->has_band ? band_judge(&band, net) : VERDICT_IN;
}

/* For so long already? */
static bool lasts(struct scale_state *sc, uint64_t now)
{
    if (!sc->odd_since)
        sc->odd_since = seq_ticks(now) | 1; /* 0: not */
    return seq_ticks(now) - sc->odd_since + 1 >= ODD_TICKS;
}

/* Below zero at once; a thing that lies there, only when it is not the container that the person is about to take. */
static void not_cleared(struct sequence *s, uint8_t scale, mass_pg gross, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    const struct item *held = sequence_item(s, sc->holds);
    if (gross < 0) {
        if (!sc->said_zero)
            seq_notice(fx, NOTICE_ZERO, scale, s->current);
        sc->said_zero = true;
    } else if (held && gross > held->tare / 2) {
        sc->odd_since = 0;
    } else if (lasts(sc, now) && !sc->said_loaded) {
        seq_notice(fx, NOTICE_LOADED, scale, s->current)->mass = gross;
        sc->said_loaded = true;
    }
}

/* A zero that wandered is taken up: every tare and gross of the next container shift with it. */
static void note_zero(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    bool wandered = !seq_near(s, scale, gross, 0, ZERO_DIVISIONS);
    if (wandered && !sc->said_drift)
        seq_notice(fx, NOTICE_DRIFT, scale, s->current)->mass = gross;
    sc->said_drift = wandered;
    sc->said_zero = sc->said_loaded = false;
    sc->odd_since = 0;
    sc->zero = gross;
}

static void moved_cleared(struct sequence *s, uint8_t scale, mass_pg gross, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (!seq_empty(s, scale, gross)) {
        not_cleared(s, scale, gross, now, fx);
        return;
    }
    note_zero(s, scale, gross, fx);
    sc->said_container = false;
    if (sc->lost) { /* a zero proves nothing then: a person has to look */
        seq_open(s, PHASE_EMPTY, fx);
        return;
    }
    sc->doubt = false;
    seq_emptied(s, scale, fx);
}

void seq_propose_staged(struct sequence *s, uint8_t scale, bool asked, struct effects *fx)
{
    struct record *r = seq_draft_of(s, REC_STAGED, sequence_item(s, s->scales[scale].holds));
    r->asked = asked;
    r->net = s->scales[scale].changed;
    seq_propose(s, fx);
}

const struct item *seq_changed(const struct sequence *s, mass_pg *net)
{
    const struct scale_state *sc = &s->scales[s->proving];
    const struct item *held = sequence_item(s, sc->holds);
    if (held && add64(held->net, held->way == WAY_BAG ? -sc->changed : sc->changed, net))
        *net = held->net;
    return held;
}

/* It is empty: what stood on it was set aside, and what waited for it goes on. */
void seq_emptied(struct sequence *s, uint8_t scale, struct effects *fx)
{
    const struct scale_state *sc = &s->scales[scale];
    const struct item *held = sequence_item(s, sc->holds);
    if (!held || held->status != ITEM_WEIGHED) {
        seq_cleared(s, fx);
    } else if (!sc->changed) {
        seq_propose_staged(s, scale, false, fx);
    } else {
        s->proving = scale;
        seq_open(s, PHASE_CHANGED, fx);
    }
}

/* Something lies on it after all. */
static void moved_empty(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    if (!seq_empty(s, scale, gross))
        seq_open(s, PHASE_CLEAR, fx);
}

/* All that goes into this container: in a tub with what follows. */
static mass_pg still_to_go(const struct sequence *s, const struct item *it)
{
    mass_pg sum = it->target;
    for (uint16_t k = 0; it->way == WAY_TUB && k < s->item_count; k++) {
        const struct item *other = &s->items[k];
        bool follows = other->kind == ITEM_WEIGH && other->way == WAY_TUB && other->status == ITEM_WAITING;
        if (other != it && follows)
            (void)add64(sum, other->target, &sum);
    }
    return sum;
}

/* Not the one that was due, or too heavy for the scale to hold its content as well. */
static bool wrong_container(const struct sequence *s, const struct item *it, mass_pg gross)
{
    mass_pg expected = s->setup->cup_empty ? s->setup->cup_empty[it->ingredient] : 0;
    mass_pg room = s->setup->scales[it->scale].capacity - gross;
    bool too_heavy = it->kind == ITEM_WEIGH && it->way != WAY_BAG && room < still_to_go(s, it);
    return too_heavy || (expected > 0 && seq_distance(gross, expected) > s->setup->cup_off[it->ingredient]);
}

/* As heavy as one that was filled and weighed here before, or as this ingredient's last one half full: the same cup, not
 * emptied? A bag is full by its nature. */
static bool looks_filled(const struct sequence *s, const struct item *it, mass_pg gross)
{
    mass_pg slack = LOAD_DIVISIONS * seq_division(s, it->scale);
    if (s->not_empty && gross >= s->not_empty)
        return true;
    for (uint16_t k = 0; it->way != WAY_BAG && k < s->item_count; k++) {
        const struct item *was = &s->items[k];
        bool weighed = was->status >= ITEM_WEIGHED && was->gross - was->tare > 2 * slack && was->way != WAY_BAG;
        if (!weighed || was->scale != it->scale)
            continue;
        if (seq_near(s, it->scale, gross, was->gross, LOAD_DIVISIONS))
            return true;
        mass_pg half = was->tare + (was->gross - was->tare) / 2;
        if (was->ingredient == it->ingredient && gross > half && gross > was->tare + was->tare / 4)
            return true;
    }
    return false;
}

static void propose_tare(struct sequence *s, const struct item *it, mass_pg gross, bool disputed, struct effects *fx)
{
    struct record *r = seq_draft(s, REC_TARED);
    r->tare = gross;
    r->net = s->scales[it->scale].zero; /* kept with it, so that the tare can be checked later */
    r->disputed = disputed;
    r->agreed = s->setup->scales[it->scale].agreeing;
    r->known = s->setup->cup_empty && s->setup->cup_empty[it->ingredient] > 0;
    r->asked = s->asked != 0;
    seq_propose(s, fx);
}

/* Asked about; true: it waits for the person. Another one on the platform is another question. */
static bool asked_about(struct sequence *s, const struct item *it, mass_pg gross, struct effects *fx)
{
    if (s->asked && !seq_near(s, it->scale, gross, s->asked, LOAD_DIVISIONS)) {
        s->asked = 0;
        s->said_empty = false;
        seq_open(s, PHASE_CONTAINER, fx);
    }
    if (s->asked || !looks_filled(s, it, gross))
        return s->asked && !s->said_empty;
    s->asked = gross;
    seq_notice(fx, NOTICE_FILLED, it->scale, it->id)->mass = gross;
    seq_open(s, PHASE_CONTAINER, fx);
    return true;
}

static void say_container(struct sequence *s, const struct item *it, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[it->scale];
    if (sc->said_container)
        return;
    sc->said_container = true;
    seq_notice(fx, NOTICE_CONTAINER, it->scale, it->id)->mass = gross;
}

/* The part-filled container weighs at least its tare (the bag: at most). */
static void moved_back(struct sequence *s, const struct item *it, mass_pg gross, struct effects *fx)
{
    mass_pg slack = LOAD_DIVISIONS * seq_division(s, it->scale);
    struct scale_state *sc = &s->scales[it->scale];
    if (sc->wrong && seq_near(s, it->scale, gross, sc->wrong, LOAD_DIVISIONS)) { /* as it looked in the wrong unit */
        seq_lose(s, it->scale, NOTICE_FACTOR, fx);
        return;
    }
    bool right = it->way == WAY_BAG ? gross <= it->tare + slack : gross >= it->tare - slack;
    if (!right || sc->said_container) { /* what is put into a wrong one doesn't make it right */
        say_container(s, it, gross, fx);
        return;
    }
    s->back = false;
    s->poured = true; /* as far as is known */
    sc->said_container = false;
    sc->was = sc->wrong = 0;
    seq_open(s, PHASE_FILL, fx);
}

static void moved_container(struct sequence *s, const struct item *it, mass_pg gross, bool disputed, struct effects *fx)
{
    if (!seq_loaded(s, it->scale, gross)) {
        s->scales[it->scale].said_container = false;
        if (s->asked)
            (void)asked_about(s, it, gross, fx);
        return;
    }
    if (s->back) {
        moved_back(s, it, gross, fx);
        return;
    }
    if (wrong_container(s, it, gross)) {
        say_container(s, it, gross, fx);
        return;
    }
    s->scales[it->scale].said_container = false;
    if (!asked_about(s, it, gross, fx))
        propose_tare(s, it, gross, disputed, fx);
}

/* Without a band only what the scale can weigh at all may be accepted. */
enum phase seq_phase_of_net(const struct sequence *s, const struct item *it, mass_pg net)
{
    mass_pg least = s->setup->scales[it->scale].min_load;
    switch (seq_judge(it, net)) {
    case VERDICT_OVER:
        return PHASE_OVER;
    case VERDICT_UNDER:
        return PHASE_FILL;
    default:
        return it->has_band || (net >= least && net > 0) ? PHASE_CONFIRM : PHASE_FILL;
    }
}

mass_pg seq_inside(const struct sequence *s, const struct item *it)
{
    const struct band band = {it->target, it->low, it->high};
    return band_inside(&band, seq_division(s, it->scale));
}

/* Once for each time that too much goes in: a net that flickers about the upper edge is the same miss. */
static void say_over(struct sequence *s, const struct item *it, mass_pg net, struct effects *fx)
{
    if (s->over_net && net <= s->over_net + MOVED_DIVISIONS * seq_division(s, it->scale))
        return;
    s->over_net = net;
    seq_notice(fx, NOTICE_OVER, it->scale, it->id)->mass = net - it->high;
    seq_effect(fx, FX_SOUND, SOUND_OVER);
}

/* FILL, OVER, UNDER and CONFIRM are one judgement of the settled net. */
static void judge_net(struct sequence *s, const struct item *it, mass_pg net, struct effects *fx)
{
    enum phase to = seq_phase_of_net(s, it, net);
    if (to == (enum phase)s->phase) {
        bool moved = !seq_near(s, it->scale, net, s->opened_net, MOVED_DIVISIONS);
        if (to == PHASE_OVER && moved) { /* how much to take out, and whether it may be kept, have changed */
            s->opened_net = net;
            seq_open(s, PHASE_OVER, fx);
        }
        return;
    }
    bool agreed = s->phase == PHASE_CONFIRM || s->phase == PHASE_SECOND;
    bool part = agreed && it->kind == ITEM_MEAT; /* a lug that is a part of its plan */
    if (to == PHASE_FILL && (s->phase == PHASE_UNDER || part))
        return;
    s->opened_net = net;
    s->in_band_since = 0;
    if (to == PHASE_OVER)
        say_over(s, it, net, fx);
    seq_open(s, to, fx);
}

/* An unsettled weight can close CONFIRM and UNDER, it never opens anything else. */
static bool moved_away(const struct sequence *s, const struct item *it, uint64_t now)
{
    mass_pg net = 0;
    uint8_t newest = s->scales[it->scale].settle.newest.state;
    if (newest == READING_OVER || newest == READING_UNDER)
        return true;
    if (!sequence_net(s, now, &net))
        return false;
    if (s->phase == PHASE_UNDER && net < s->opened_net)
        return false;
    return !seq_near(s, it->scale, net, s->opened_net, MOVED_DIVISIONS);
}

/* Nobody looks at it then, so never for a critical ingredient. */
static void auto_accept(struct sequence *s, const struct item *it, uint64_t now, struct effects *fx)
{
    static const struct acceptance plain;
    const struct ingredient *in = &s->setup->formula->ingredients[it->ingredient];
    if (!s->setup->accept_auto || in->critical)
        return;
    if (!s->in_band_since)
        s->in_band_since = now;
    else if (now - s->in_band_since >= s->setup->accept_us && now >= s->quiet_until &&
             seq_weigh(s, now, &plain) == REFUSED_COUNT)
        seq_propose(s, fx);
}

/* Lifted off to be poured from: nothing can be judged until it is back. */
static void bag_is_off(struct sequence *s, struct effects *fx)
{
    s->in_band_since = 0;
    if (s->phase != PHASE_FILL)
        seq_open(s, PHASE_FILL, fx);
}

/* A cup never weighs less than it did empty: another one stands there, and what is poured to bring the net up would be more
 * than is wanted. It stays wrong until it is lifted off. Or a hand lay on it when it was tared: if it stays so light, and
 * nothing was in it yet, it is tared anew. A draught on an empty platform is no cup. */
static bool other_cup(struct sequence *s, const struct item *it, mass_pg gross, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[it->scale];
    bool lighter = gross < it->tare - LIGHTER_DIVISIONS * seq_division(s, it->scale);
    bool loaded = it->way == WAY_CUP && loaded_above(s, it->scale, gross, LIGHTER_DIVISIONS);
    if (!lighter || !loaded)
        sc->odd_since = 0;
    if (!loaded)
        sc->said_container = false;
    if (!loaded || (!lighter && !sc->said_container))
        return false;
    say_container(s, it, gross, fx);
    if (s->phase != PHASE_FILL)
        seq_open(s, PHASE_FILL, fx);
    if (lighter && !s->poured && !it->in_place && lasts(sc, now) && now >= s->quiet_until) {
        seq_notice(fx, NOTICE_LIGHTER, it->scale, it->id)->mass = it->tare - gross;
        seq_draft(s, REC_UNTARED)->net = gross - it->tare;
        seq_propose(s, fx);
        sc->odd_since = 0;
    }
    return true;
}

static void filling(struct sequence *s, const struct item *it, uint64_t now, struct effects *fx)
{
    bool open = s->phase == PHASE_CONFIRM || s->phase == PHASE_SECOND || s->phase == PHASE_UNDER;
    mass_pg gross = 0, net = 0;
    bool disputed = false;
    if (open && moved_away(s, it, now)) {
        s->in_band_since = 0;
        seq_open(s, PHASE_FILL, fx);
    }
    if (seq_dipped(s, it, fx))
        return;
    if (!seq_settled(s, it->scale, now, &gross, &disputed)) {
        s->in_band_since = 0;
        return;
    }
    if (!seq_item_net(s, it, gross, &net)) {
        bag_is_off(s, fx);
        return;
    }
    if (other_cup(s, it, gross, now, fx)) {
        s->in_band_since = 0;
        return;
    }
    if (net <= seq_inside(s, it))
        s->over_net = 0;
    s->poured = s->poured || net > LOAD_DIVISIONS * seq_division(s, it->scale);
    if (seq_yes_is_due(s, net, now, disputed, fx))
        return;
    if (s->phase != PHASE_SECOND || (s->why_word == ANSWER_YES && seq_phase_of_net(s, it, net) != PHASE_CONFIRM))
        judge_net(s, it, net, fx);
    if (!disputed && it->has_band && seq_judge(it, net) == VERDICT_IN)
        auto_accept(s, it, now, fx);
}

/* The line was lost and came back at another load: what stands on the platform can't be known, so prove it empty. */
static bool doubtful(struct sequence *s, uint64_t now, struct effects *fx)
{
    uint8_t scale = s->prompt.scale;
    mass_pg gross;
    bool disputed;
    if (!s->scales[scale].doubt)
        return false;
    bool clears = s->phase == PHASE_CLEAR || s->phase == PHASE_EMPTY;
    if (clears || !seq_settled(s, scale, now, &gross, &disputed))
        return !clears;
    seq_open(s, PHASE_CLEAR, fx);
    return false;
}

/* Once for each time that the scale's motion mark disagrees. */
static void say_motion(struct sequence *s, uint8_t scale, bool disputed, struct effects *fx)
{
    if (disputed && !s->scales[scale].said_motion)
        seq_notice(fx, NOTICE_MOTION, scale, s->current);
    s->scales[scale].said_motion = disputed;
}

static void by_weight_of_item(struct sequence *s, const struct item *it, uint64_t now, struct effects *fx)
{
    mass_pg gross;
    bool disputed;
    seq_yes_waits(s, it, now, fx);
    if (s->typed || doubtful(s, now, fx))
        return;
    bool settled = seq_settled(s, s->prompt.scale, now, &gross, &disputed);
    if (settled)
        say_motion(s, s->prompt.scale, disputed, fx);
    if (s->phase >= PHASE_FILL) {
        filling(s, it, now, fx);
        return;
    }
    if (!settled || now < s->quiet_until)
        return;
    if (s->phase == PHASE_CLEAR)
        moved_cleared(s, s->prompt.scale, gross, now, fx);
    else if (s->phase == PHASE_EMPTY)
        moved_empty(s, s->prompt.scale, gross, fx);
    else
        moved_container(s, it, gross, disputed, fx);
}

/* A dead platform can't be proved empty now: it stays in doubt until it is back. */
static void prove(struct sequence *s, uint64_t now, struct effects *fx)
{
    mass_pg gross;
    bool disputed;
    if (s->scales[s->proving].link > LINK_UP)
        seq_cleared(s, fx);
    else if (now >= s->quiet_until && seq_settled(s, s->proving, now, &gross, &disputed))
        moved_cleared(s, s->proving, gross, now, fx);
}

void seq_by_weight(struct sequence *s, uint64_t now, struct effects *fx)
{
    const struct item *it = seq_current(s);
    if (s->storing || s->state == BATCH_PAUSED)
        return;
    if (s->phase == PHASE_PROVE) {
        prove(s, now, fx);
        return;
    }
    if (seq_cleared_by_death(s)) {
        seq_go_on(s, fx);
        return;
    }
    if (it && s->phase != PHASE_CHANGED && s->prompt.scale < s->setup->scale_count && s->phase >= PHASE_CLEAR &&
        s->phase <= PHASE_SECOND)
        by_weight_of_item(s, it, now, fx);
}

/* What would be recorded for this gross, or for the typed net. */
static struct record *draft_weighed(struct sequence *s, mass_pg gross)
{
    const struct item *it = sequence_item(s, s->current);
    struct record *r = seq_draft(s, REC_WEIGHED);
    r->has_gross = !s->typed;
    r->manner = s->typed ? MANNER_TYPED : MANNER_LIVE;
    if (s->typed) {
        r->net = s->typed_net;
    } else {
        r->gross = gross;
        r->tare = it->tare;
        (void)seq_item_net(s, it, gross, &r->net);
    }
    r->has_band = it->has_band;
    r->target = it->target;
    r->low = it->low;
    r->high = it->high;
    r->verdict = (uint8_t)seq_judge(it, r->net);
    seq_copy(r->lot, it->lot, CAP_LOT);
    return r;
}

/* Everything that stands between a weight and its acceptance, judged at this very moment. REFUSED_COUNT: nothing does. */
static enum refusal_code in_the_way(const struct sequence *s, const struct record *r, uint64_t now)
{
    const struct item *it = sequence_item(s, s->current);
    mass_pg most, gross, net;
    bool disputed;
    enum refusal_code no = s->typed ? REFUSED_COUNT : seq_unsettled(s, it->scale, now, &gross, &disputed);
    if (no == REFUSED_COUNT && !s->typed && (s->scales[it->scale].doubt || !seq_item_net(s, it, gross, &net)))
        no = REFUSED_MOVING;
    if (no != REFUSED_COUNT)
        return no;
    if (seq_lawful(s, it, &most) && r->net > most)
        return REFUSED_LIMIT;
    if (it->kind == ITEM_MEAT && add64(seq_meat_net(s), r->net, &most))
        return REFUSED_FULL; /* the sum could not be reckoned with */
    bool nothing = it->has_band ? r->net < -seq_division(s, it->scale) : r->net <= 0; /* or its container is gone */
    if (nothing || (r->verdict != VERDICT_IN && !r->reason[0]))
        return REFUSED_BAND;
    /* Whoever signs for it now must have the right, not only whoever was asked. */
    if (it->unfit && !s->typed && ((!r->reason[0] && !r->next) || seq_is_regulated(s->setup, it->ingredient)))
        return REFUSED_UNFIT;
    if (r->verdict != VERDICT_IN && !(s->person.rights & RIGHT_ACCEPT))
        return REFUSED_RIGHT;
    if (s->typed && !(s->person.rights & RIGHT_TYPE))
        return REFUSED_RIGHT;
    return REFUSED_COUNT;
}

/* One portion of more to come: it stands for itself, the rest of the target goes to what follows. */
static void stand_alone(const struct sequence *s, const struct acceptance *how, struct record *r)
{
    r->verdict = VERDICT_IN;
    if (!how->next_lot) {
        r->has_band = false;
        return;
    }
    r->target = r->low = r->high = r->net;
    r->next = (uint16_t)(s->item_count + 1);
    seq_copy(r->next_lot, how->next_lot, CAP_LOT);
}

enum refusal_code seq_weigh(struct sequence *s, uint64_t now, const struct acceptance *how)
{
    const struct item *it = seq_current(s);
    mass_pg gross = 0;
    bool disputed = false;
    if (!s->typed)
        (void)seq_settled(s, it->scale, now, &gross, &disputed);
    struct record *r = draft_weighed(s, gross);
    r->disputed = disputed;
    r->agreed = !s->typed && s->setup->scales[it->scale].agreeing;
    if (how->reason)
        seq_copy(r->reason, how->reason, CAP_REASON);
    if (how->second)
        seq_copy(r->second, how->second, CAP_PERSON);
    bool part = it->kind == ITEM_MEAT && !r->reason[0];
    if (r->verdict == VERDICT_UNDER && (part || how->next_lot))
        stand_alone(s, how, r);
    return in_the_way(s, r, now);
}
