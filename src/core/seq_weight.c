/* What weights do by themselves: platforms that are cleared, containers, and the prompts that a net answers. */
#include "core/seq_internal.h"

/* A platform counts as empty within one division of zero, and as loaded above two. */
#define ZERO_DIVISIONS 1
#define LOAD_DIVISIONS 2
/* CONFIRM and UNDER close when the net has moved by more than this. */
#define MOVED_DIVISIONS 2
/* A scale's zero drifts by fewer while one ingredient is weighed; a cup that is so much lighter than its tare is another. */
#define LIGHTER_DIVISIONS 5

mass_pg seq_division(const struct sequence *s, uint8_t scale)
{
    return s->setup->scales[scale].division;
}

mass_pg seq_distance(mass_pg a, mass_pg b)
{
    mass_pg d = 0;
    if (sub64(a, b, &d) || d == INT64_MIN)
        return INT64_MAX;
    return d < 0 ? -d : d;
}

bool seq_empty(const struct sequence *s, uint8_t scale, mass_pg gross)
{
    return seq_distance(gross, 0) <= ZERO_DIVISIONS * seq_division(s, scale);
}

enum settle_state sequence_scale(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross)
{
    return settle_judge(&s->scales[scale].settle, &s->setup->scales[scale].settle, now, gross);
}

bool seq_settled(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross, bool *disputed)
{
    enum settle_state state = sequence_scale(s, scale, now, gross);
    *disputed = state == SETTLE_DISPUTED;
    return state == SETTLE_SETTLED || state == SETTLE_DISPUTED;
}

bool seq_item_net(const struct sequence *s, const struct item *it, mass_pg gross, mass_pg *net)
{
    if (it->status != ITEM_TARED)
        return false;
    if (it->way == WAY_BAG)
        return gross > ZERO_DIVISIONS * seq_division(s, it->scale) && sub64(it->tare, gross, net) == FAIL_NONE;
    return sub64(gross, it->tare, net) == FAIL_NONE;
}

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

static void moved_cleared(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (!seq_empty(s, scale, gross)) {
        if (gross < 0 && !sc->said_zero) {
            seq_notice(fx, NOTICE_ZERO, scale, s->current);
            sc->said_zero = true;
        }
        return;
    }
    sc->said_zero = false;
    sc->said_container = false;
    if (sc->lost) {
        seq_open(s, PHASE_EMPTY, fx);
        return;
    }
    sc->doubt = false;
    seq_emptied(s, scale, fx);
}

/* It is empty: what stood on it was set aside, and what waited for it goes on. */
void seq_emptied(struct sequence *s, uint8_t scale, struct effects *fx)
{
    const struct scale_state *sc = &s->scales[scale];
    const struct item *held = sequence_item(s, sc->holds);
    if (held && held->status == ITEM_WEIGHED) {
        struct record *r = seq_draft(s, REC_STAGED);
        r->item = held->id;
        r->parent = held->parent;
        r->ingredient = held->ingredient;
        r->scale = scale;
        seq_propose(s, fx);
        return;
    }
    seq_cleared(s, fx);
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
    if (sc->wrong && seq_distance(gross, sc->wrong) <= slack) { /* as it looked in the wrong unit */
        seq_lose(s, it->scale, NOTICE_FACTOR, fx);
        return;
    }
    bool right = it->way == WAY_BAG ? gross <= it->tare + slack : gross >= it->tare - slack;
    if (!right || sc->said_container) { /* what is put into a wrong one doesn't make it right */
        say_container(s, it, gross, fx);
        return;
    }
    s->back = false;
    sc->said_container = false;
    sc->was = sc->wrong = 0;
    seq_open(s, PHASE_FILL, fx);
}

static void moved_container(struct sequence *s, const struct item *it, mass_pg gross, bool disputed, struct effects *fx)
{
    if (gross <= LOAD_DIVISIONS * seq_division(s, it->scale)) {
        s->scales[it->scale].said_container = false;
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
    struct record *r = seq_draft(s, REC_TARED);
    r->tare = gross;
    r->disputed = disputed;
    r->known = s->setup->cup_empty && s->setup->cup_empty[it->ingredient] > 0;
    seq_propose(s, fx);
}

static enum phase phase_of_net(const struct sequence *s, const struct item *it, mass_pg net)
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

/* FILL, OVER, UNDER and CONFIRM are one judgement of the settled net. */
static void judge_net(struct sequence *s, const struct item *it, mass_pg net, struct effects *fx)
{
    enum phase to = phase_of_net(s, it, net);
    if (to == (enum phase)s->phase) {
        bool moved = seq_distance(net, s->opened_net) > MOVED_DIVISIONS * seq_division(s, it->scale);
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
    if (to == PHASE_OVER) {
        seq_notice(fx, NOTICE_OVER, it->scale, it->id)->mass = net - it->high;
        seq_effect(fx, FX_SOUND, SOUND_OVER);
    }
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
    return seq_distance(net, s->opened_net) > MOVED_DIVISIONS * seq_division(s, it->scale);
}

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
 * than is wanted. It stays wrong until it is lifted off. */
static bool other_cup(struct sequence *s, const struct item *it, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[it->scale];
    mass_pg division = seq_division(s, it->scale);
    if (it->way != WAY_CUP || gross <= LOAD_DIVISIONS * division) {
        sc->said_container = false;
        return false;
    }
    if (!sc->said_container && gross >= it->tare - LIGHTER_DIVISIONS * division)
        return false;
    say_container(s, it, gross, fx);
    if (s->phase != PHASE_FILL)
        seq_open(s, PHASE_FILL, fx);
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
    if (!seq_settled(s, it->scale, now, &gross, &disputed)) {
        s->in_band_since = 0;
        return;
    }
    if (!seq_item_net(s, it, gross, &net)) {
        bag_is_off(s, fx);
        return;
    }
    if (other_cup(s, it, gross, fx)) {
        s->in_band_since = 0;
        return;
    }
    if (s->phase != PHASE_SECOND || (s->why_word == ANSWER_YES && phase_of_net(s, it, net) != PHASE_CONFIRM))
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
        moved_cleared(s, s->prompt.scale, gross, fx);
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
        moved_cleared(s, s->proving, gross, fx);
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
    if (it && s->prompt.scale < s->setup->scale_count && s->phase >= PHASE_CLEAR && s->phase <= PHASE_SECOND)
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
    if (!s->typed && sequence_scale(s, it->scale, now, &gross) <= SETTLE_NOWEIGHT)
        return REFUSED_STALE;
    if (!s->typed && (!seq_settled(s, it->scale, now, &gross, &disputed) || s->scales[it->scale].doubt ||
                      !seq_item_net(s, it, gross, &net)))
        return REFUSED_MOVING;
    if (seq_lawful(s, it, &most) && r->net > most)
        return REFUSED_LIMIT;
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
    if (how->reason)
        seq_copy(r->reason, how->reason, CAP_REASON);
    if (how->second)
        seq_copy(r->second, how->second, CAP_PERSON);
    bool part = it->kind == ITEM_MEAT && !r->reason[0];
    if (r->verdict == VERDICT_UNDER && (part || how->next_lot))
        stand_alone(s, how, r);
    return in_the_way(s, r, now);
}
