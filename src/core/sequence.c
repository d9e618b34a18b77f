/* The flow of a batch: which item and phase come next, proposals, and the one step function. */
#include <string.h>

#include "core/seq_internal.h"

const struct phase_row *phase_row(enum phase phase)
{
    static const struct phase_row rows[PHASE_COUNT] = {
        [PHASE_NONE] = {ASK_NOTHING, WHAT_NONE, false, 0},
        [PHASE_PERSON] = {ASK_PERSON, WHAT_NONE, false, TAKES(PERSON)},
        [PHASE_RESUME] = {ASK_RESUME, WHAT_NONE, false, TAKES(YES)},
        [PHASE_PROVE] = {ASK_CLEAR, WHAT_NONE, false, 0},
        [PHASE_LOT] = {ASK_LOT, WHAT_NONE, false, TAKES(LOT)},
        [PHASE_CLEAR] = {ASK_CLEAR, WHAT_NONE, true, 0},
        [PHASE_CHANGED] = {ASK_CONFIRM, WHAT_CHANGED, false, TAKES(YES) | TAKES(DISCARD)},
        [PHASE_EMPTY] = {ASK_CONFIRM, WHAT_EMPTY, true, TAKES(YES)},
        [PHASE_CONTAINER] = {ASK_CONTAINER, WHAT_NONE, true, TAKES(YES)},
        [PHASE_FILL] = {ASK_FILL, WHAT_NONE, true, TAKES(DONE) | TAKES(DISCARD)},
        [PHASE_OVER] = {ASK_OVER, WHAT_NONE, true, TAKES(KEEP) | TAKES(DISCARD)},
        [PHASE_UNDER] = {ASK_UNDER, WHAT_NONE, true, TAKES(LOT) | TAKES(SHORT) | TAKES(HOLD) | TAKES(DISCARD)},
        [PHASE_CONFIRM] = {ASK_CONFIRM, WHAT_WEIGHT, true, TAKES(YES) | TAKES(KEEP)},
        [PHASE_SECOND] = {ASK_CONFIRM, WHAT_SECOND, true, TAKES(YES)},
        [PHASE_MORE] = {ASK_MORE, WHAT_NONE, false, TAKES(YES) | TAKES(NO) | TAKES(DISCARD)},
        [PHASE_BASIS] = {ASK_CONFIRM, WHAT_BASIS, false, TAKES(YES) | TAKES(NO) | TAKES(HOLD) | TAKES(DISCARD)},
        [PHASE_TUB] = {ASK_CONFIRM, WHAT_TUB, false, TAKES(YES) | TAKES(KEEP) | TAKES(HOLD)},
        [PHASE_ADD] = {ASK_ADD, WHAT_NONE, false, TAKES(YES) | TAKES(DISCARD)},
        [PHASE_INSTRUCTION] = {ASK_INSTRUCTION, WHAT_NONE, false, TAKES(YES)},
        [PHASE_CHECK] = {ASK_CHECK, WHAT_NONE, false, TAKES(VALUE) | TAKES(KEEP) | TAKES(HOLD)},
        [PHASE_RETRY] = {ASK_RESUME, WHAT_RETRY, false, TAKES(YES)},
        [PHASE_ENDED] = {ASK_NOTHING, WHAT_NONE, false, 0},
    };
    return &rows[phase];
}

void seq_copy(char *to, const char *from, unsigned cap)
{
    unsigned n = 0;
    while (n + 1 < cap && from[n]) {
        to[n] = from[n];
        n++;
    }
    memset(to + n, 0, cap - n);
}

bool seq_same(const char *a, const char *b)
{
    while (*a && *a == *b) {
        a++;
        b++;
    }
    return *a == *b;
}

struct effect *seq_effect(struct effects *fx, enum effect_kind kind, unsigned code)
{
    if (fx->count == EFFECTS_MAX)
        fx->count--; /* the last one gives way: prompts and proposals come after notices */
    struct effect *e = &fx->list[fx->count++];
    memset(e, 0, sizeof *e);
    e->kind = (uint8_t)kind;
    e->code = (uint8_t)code;
    e->scale = NO_SCALE;
    e->ingredient = NO_INGREDIENT;
    return e;
}

struct effect *seq_notice(struct effects *fx, enum notice_code code, uint8_t scale, uint16_t item)
{
    struct effect *e = seq_effect(fx, FX_NOTICE, code);
    e->scale = scale;
    e->item = item;
    return e;
}

void seq_refuse(struct effects *fx, const struct sequence *s, enum refusal_code code)
{
    seq_effect(fx, FX_REFUSED, code)->prompt = s->prompt.id;
    seq_effect(fx, FX_SOUND, SOUND_WRONG);
}

struct record *seq_draft_of(struct sequence *s, enum record_kind kind, const struct item *it)
{
    struct record *r = &s->pending;
    memset(r, 0, sizeof *r);
    r->kind = (uint8_t)kind;
    r->scale = it ? it->scale : NO_SCALE;
    r->ingredient = it ? it->ingredient : NO_INGREDIENT;
    r->item = it ? it->id : 0;
    r->parent = it ? it->parent : 0;
    r->step = it && it->kind >= ITEM_ADD ? it->step : NO_STEP;
    r->state = s->state;
    seq_copy(r->person, s->person.code, CAP_PERSON);
    return r;
}

struct record *seq_draft(struct sequence *s, enum record_kind kind)
{
    return seq_draft_of(s, kind, sequence_item(s, s->current));
}

/* Announces the draft. The batch is opened by its first accepted answer: STARTED goes before whatever that is. */
void seq_propose(struct sequence *s, struct effects *fx)
{
    if (!s->started) {
        s->then = s->pending;
        s->then.state = BATCH_RUNNING;
        s->queued = true;
        uint16_t current = s->current;
        s->current = 0; /* it is of the batch, not of the item at hand */
        struct record *r = seq_draft(s, REC_STARTED);
        s->current = current;
        r->state = BATCH_RUNNING;
        r->basis = s->setup->basis;
        r->net = s->setup->basis_mass;
    }
    s->storing = true;
    seq_effect(fx, FX_RECORD, s->pending.kind);
}

/* Answers of the phase's row that this person may give to this item. */
uint16_t seq_answers(const struct sequence *s, enum phase phase)
{
    const struct item *it = sequence_item(s, s->current);
    uint16_t words = phase_row(phase)->answers;
    mass_pg most = 0;
    bool above = it && phase == PHASE_OVER && seq_lawful(s, it, &most) && s->opened_net > most;
    bool retry = it && phase == PHASE_CHECK && it->verdict != VERDICT_IN;
    bool lots = it && it->ingredient != NO_INGREDIENT && s->setup->formula->ingredients[it->ingredient].ask_lot;
    if (!(s->person.rights & RIGHT_ACCEPT) || above) /* above the lawful limit no right helps */
        words &= (uint16_t) ~(TAKES(KEEP) | TAKES(SHORT));
    if (phase == PHASE_CONFIRM && it) /* on a scale that is not fit a bare yes would leave no reason in the record */
        words = it->unfit && !s->typed ? TAKES(KEEP) : TAKES(YES);
    if (phase == PHASE_RESUME && s->state == BATCH_HELD && !(s->person.rights & RIGHT_RELEASE))
        words = 0;
    if (phase == PHASE_FILL && it && !it->has_band)
        words &= (uint16_t)~TAKES(DONE);
    if (it && phase_row(phase)->weighing && (s->typed || !seq_may_discard(it)))
        words &= (uint16_t)~TAKES(DISCARD);
    if (phase == PHASE_UNDER && (!lots || s->typed))
        words &= (uint16_t)~TAKES(LOT);
    if (phase == PHASE_CONTAINER && !s->asked)
        words = 0;
    if (phase == PHASE_CHANGED) {
        it = seq_changed(s, &most);
        words = seq_judge(it, most) == VERDICT_IN ? words : TAKES(DISCARD);
    }
    if (phase == PHASE_BASIS && s->setup->basis == BASIS_DECLARED)
        words = TAKES(YES); /* there are no lugs */
    if (phase == PHASE_CHECK && !retry)
        words = TAKES(VALUE);
    return words;
}

uint8_t seq_loaded_scale(const struct sequence *s)
{
    for (uint8_t k = 0; k < s->setup->scale_count; k++) {
        const struct item *it = sequence_item(s, s->scales[k].holds);
        if (it && it->status == ITEM_WEIGHED && s->scales[k].link == LINK_UP)
            return k;
    }
    return NO_SCALE;
}

static void fill_prompt(const struct sequence *s, struct prompt *p)
{
    mass_pg net = s->typed ? s->typed_net : s->opened_net;
    const struct item *it = s->phase == PHASE_CHANGED ? seq_changed(s, &net) : sequence_item(s, s->current);
    bool container = p->ask == ASK_CONTAINER && it && it->ingredient != NO_INGREDIENT;
    if (s->phase == PHASE_PROVE) {
        p->scale = s->proving;
        return;
    }
    if (!it || p->ask == ASK_PERSON || p->ask == ASK_RESUME)
        return;
    p->item = it->id;
    p->ingredient = it->ingredient;
    p->way = it->way;
    bool clears = s->phase == PHASE_CLEAR || s->phase == PHASE_EMPTY;
    p->scale = clears && it->ingredient == NO_INGREDIENT ? seq_loaded_scale(s) : it->scale;
    p->has_band = it->has_band;
    p->target = it->target;
    p->low = it->low;
    p->high = it->high;
    p->back = container && s->back;
    p->empty = container && s->setup->cup_empty ? s->setup->cup_empty[it->ingredient] : 0;
    p->has_empty = p->empty > 0;
    p->typed = s->typed;
    p->other = s->phase == PHASE_SECOND && s->setup->people && s->setup->second_person;
    p->net = net;
    p->take = p->ask == ASK_OVER ? p->net - seq_inside(s, it) : 0;
    p->basis = s->setup->basis == BASIS_WEIGHED ? seq_meat_net(s) : s->setup->basis_mass;
}

/* A prompt that was opened and closed within one step was never open to anybody. */
static void drop_prompt(struct effects *fx)
{
    uint8_t kept = 0;
    for (uint8_t k = 0; k < fx->count; k++)
        if (fx->list[k].kind != FX_PROMPT)
            fx->list[kept++] = fx->list[k];
    fx->count = kept;
}

void seq_open(struct sequence *s, enum phase phase, struct effects *fx)
{
    const struct phase_row *row = phase_row(phase);
    struct prompt p;
    memset(&p, 0, sizeof p);
    s->phase = (uint8_t)phase;
    s->yes_since = 0;
    p.id = s->prompt.id + 1;
    p.ask = row->ask;
    p.what = row->what;
    p.scale = NO_SCALE;
    p.ingredient = NO_INGREDIENT;
    fill_prompt(s, &p);
    p.answers = seq_answers(s, phase);
    s->prompt = p;
    drop_prompt(fx);
    seq_effect(fx, FX_PROMPT, row->ask);
}

static enum phase phase_of_weighing(const struct sequence *s, const struct item *it)
{
    const struct ingredient *in = &s->setup->formula->ingredients[it->ingredient];
    if (it->kind == ITEM_MEAT && it->status >= ITEM_WEIGHED)
        return PHASE_MORE;
    if (in->ask_lot && !it->lot_known)
        return PHASE_LOT;
    if (it->status == ITEM_TARED)
        return s->back ? PHASE_CONTAINER : PHASE_FILL;
    return PHASE_CLEAR;
}

static enum phase phase_of(const struct sequence *s, const struct item *it)
{
    switch ((enum item_kind)it->kind) {
    case ITEM_MEAT:
    case ITEM_WEIGH:
        return phase_of_weighing(s, it);
    case ITEM_BASIS:
        return PHASE_BASIS;
    case ITEM_TUB:
        return PHASE_TUB;
    case ITEM_ADD:
        return PHASE_ADD;
    case ITEM_INSTRUCTION:
        return PHASE_INSTRUCTION;
    default:
        return PHASE_CHECK;
    }
}

/* Declared meat is not weighed: its lot is asked, its mass is its planned part of what was typed. */
static void propose_declared(struct sequence *s, const struct item *it, struct effects *fx)
{
    mass_pg targets[CAP_INGREDIENTS];
    struct record *r = seq_draft(s, REC_WEIGHED);
    if (scale_formula(s->setup->formula, s->setup->basis_mass, targets))
        return;
    r->scale = NO_SCALE;
    r->manner = MANNER_TYPED;
    r->net = targets[it->ingredient];
    seq_copy(r->lot, it->lot, CAP_LOT);
    seq_propose(s, fx);
}

static void propose_end(struct sequence *s, struct effects *fx)
{
    seq_draft(s, REC_STATE)->state = BATCH_COMPLETE;
    seq_propose(s, fx);
}

/* Declared meat that asks nothing more: it is recorded without a question. Not as the first of a batch, which a person's
 * answer opens: then the basis is confirmed before it. */
static bool asks_nothing(const struct sequence *s, const struct item *it)
{
    enum phase phase = phase_of(s, it);
    return it->kind == ITEM_MEAT && s->setup->basis == BASIS_DECLARED && phase != PHASE_LOT && phase != PHASE_MORE;
}

static uint16_t first_unfinished(const struct sequence *s)
{
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *it = sequence_item(s, s->order[k]);
        if (!seq_finished(it) && (s->started || !asks_nothing(s, it)))
            return it->id;
    }
    return 0;
}

/* Before a gram is poured. */
static void say_unfit(const struct item *it, struct effects *fx)
{
    seq_notice(fx, NOTICE_UNFIT, it->scale, it->id)->ingredient = it->ingredient;
}

/* The first unfinished item of the order, at the phase it has come to. */
void seq_go_on(struct sequence *s, struct effects *fx)
{
    s->current = first_unfinished(s);
    s->typed = false;
    s->over_net = 0;
    seq_untell(s, NO_SCALE); /* what comes next may be filled on the same platform without another question */
    const struct item *it = seq_current(s);
    if (!it || asks_nothing(s, it)) {
        s->phase = PHASE_RETRY; /* where it stands if this can't be stored */
        if (it)
            propose_declared(s, it, fx);
        else
            propose_end(s, fx);
        return;
    }
    enum phase phase = phase_of(s, it);
    if (it->unfit && (phase == PHASE_CLEAR || phase == PHASE_FILL))
        say_unfit(it, fx);
    bool loaded = phase == PHASE_ADD && seq_loaded_scale(s) != NO_SCALE;
    seq_open(s, loaded ? PHASE_CLEAR : phase, fx);
}

bool seq_cleared_by_death(const struct sequence *s)
{
    const struct item *it = sequence_item(s, s->current);
    bool clears = s->phase == PHASE_CLEAR || s->phase == PHASE_EMPTY;
    return clears && it && it->ingredient == NO_INGREDIENT && seq_loaded_scale(s) != s->prompt.scale;
}

void seq_reopen(struct sequence *s, struct effects *fx)
{
    if (seq_cleared_by_death(s))
        seq_go_on(s, fx);
    else
        seq_open(s, (enum phase)s->phase, fx);
}

static void prove_next(struct sequence *s, uint8_t from, struct effects *fx)
{
    for (uint8_t k = from; k < s->setup->scale_count; k++) {
        if (s->scales[k].link > LINK_UP)
            continue; /* dead and in doubt: proved when it is back */
        s->proving = k;
        seq_open(s, PHASE_PROVE, fx);
        return;
    }
    s->proved = true;
    s->back = true;
    seq_go_on(s, fx);
}

/* The platform that had to be empty is. */
void seq_cleared(struct sequence *s, struct effects *fx)
{
    const struct item *it = seq_current(s);
    if (s->resumed && !s->proved) {
        prove_next(s, (uint8_t)(s->proving + 1), fx);
        return;
    }
    if (!it || (it->kind != ITEM_MEAT && it->kind != ITEM_WEIGH)) {
        seq_go_on(s, fx);
        return;
    }
    s->back = it->status == ITEM_TARED;
    s->asked = 0;
    s->said_empty = false;
    seq_open(s, PHASE_CONTAINER, fx);
}

/* What stood on the platforms while the program was not there is not known: each is proved first. */
static void start_running(struct sequence *s, struct effects *fx)
{
    if (s->resumed && !s->proved) {
        prove_next(s, 0, fx);
        return;
    }
    seq_go_on(s, fx);
}

static void ask_who_or_go(struct sequence *s, struct effects *fx)
{
    if (s->setup->people && !s->person.code[0])
        seq_open(s, PHASE_PERSON, fx);
    else if (s->resumed)
        seq_open(s, PHASE_RESUME, fx);
    else
        seq_go_on(s, fx);
}

static void close_batch(struct sequence *s, struct effects *fx)
{
    s->phase = PHASE_ENDED;
    seq_effect(fx, FX_END, s->state == BATCH_COMPLETE ? 0 : 1);
}

void sequence_begin(struct sequence *s, const struct person *who, uint64_t now, struct effects *fx)
{
    static const struct person nobody;
    fx->count = 0;
    s->begun_at = now;
    s->resumed = s->started;
    s->person = who ? *who : nobody; /* whoever worked on it before may have gone home */
    if (s->state >= BATCH_COMPLETE)
        close_batch(s, fx);
    else
        ask_who_or_go(s, fx);
}

static void stored_state(struct sequence *s, struct effects *fx)
{
    seq_effect(fx, FX_STATE, s->state);
    if (s->state == BATCH_RUNNING)
        start_running(s, fx);
    else if (s->state >= BATCH_HELD)
        close_batch(s, fx);
}

/* What follows once a record is on disk and applied. */
static void follow(struct sequence *s, enum record_kind kind, struct effects *fx)
{
    switch (kind) {
    case REC_STATE:
        stored_state(s, fx);
        break;
    case REC_TARED:
        s->asked = s->not_empty = 0;
        s->poured = false;
        seq_forget_dip(&s->scales[s->pending.scale]);
        seq_open(s, PHASE_FILL, fx);
        break;
    case REC_STAGED:
        seq_cleared(s, fx);
        break;
    case REC_EMPTIED:
        seq_found_again(s, s->pending.scale, fx);
        break;
    case REC_SIGNED_IN:
        seq_sign_in(s, &s->incoming, fx);
        break;
    case REC_WEIGHED:
        seq_effect(fx, FX_SOUND, SOUND_ACCEPTED);
        seq_go_on(s, fx);
        break;
    default:
        start_running(s, fx); /* thrown away while the platforms are proved: the proof goes on */
    }
}

static void stored(struct sequence *s, struct effects *fx)
{
    enum record_kind kind = (enum record_kind)s->pending.kind;
    if (!s->storing)
        return;
    s->storing = false;
    if (kind == REC_WEIGHED || kind == REC_DISCARDED)
        s->back = false; /* that container is done with; the next one comes empty */
    (void)sequence_apply(s, &s->pending);
    for (uint8_t k = 0; k < s->setup->scale_count; k++)
        if (!s->scales[k].holds)
            s->scales[k].changed = 0;
    if (!s->queued) { /* else this was STARTED, and the answer that opened the batch comes behind it */
        follow(s, kind, fx);
        return;
    }
    seq_effect(fx, FX_STATE, BATCH_RUNNING);
    s->queued = false;
    s->pending = s->then;
    s->storing = true;
    seq_effect(fx, FX_RECORD, s->pending.kind);
}

/* Nothing was stored, so nothing has happened: the same question again. */
static void store_failed(struct sequence *s, uint64_t now, struct effects *fx)
{
    if (!s->storing)
        return;
    s->storing = false;
    s->queued = false;
    s->quiet_until = now + 2000000; /* what a weight answers by itself is not tried again at every reading */
    seq_notice(fx, NOTICE_STORE, NO_SCALE, s->current);
    seq_reopen(s, fx);
}

void seq_sign_in(struct sequence *s, const struct person *who, struct effects *fx)
{
    bool first = !s->person.code[0] && s->phase <= PHASE_PERSON;
    s->person = *who;
    if (first)
        ask_who_or_go(s, fx);
    else
        seq_reopen(s, fx);
}

void sequence_step(struct sequence *s, const struct event *ev, struct effects *fx)
{
    fx->count = 0;
    bool scale = ev->kind == EV_READING || ev->kind == EV_LINK;
    if (s->phase == PHASE_ENDED || (scale && ev->scale >= s->setup->scale_count))
        return;
    switch ((enum event_kind)ev->kind) {
    case EV_READING:
        seq_feed(s, ev, fx);
        break;
    case EV_LINK:
        seq_link(s, ev, fx);
        break;
    case EV_SIGN_IN:
        seq_sign_in(s, &ev->person, fx);
        break;
    case EV_ANSWER:
        seq_answer(s, ev, fx);
        return;
    case EV_STORED:
        stored(s, fx);
        return;
    case EV_STORE_FAILED:
        store_failed(s, ev->at, fx);
        return;
    case EV_TICK:
        break;
    }
    seq_watch_links(s, ev->at, fx);
    seq_by_weight(s, ev->at, fx);
    seq_steer(s, ev->at, fx);
}

static void sooner(uint64_t *next, uint64_t at, uint64_t now)
{
    if (at > now && (*next == 0 || at < *next))
        *next = at;
}

uint64_t sequence_next(const struct sequence *s, uint64_t now)
{
    uint64_t next = 0;
    for (uint8_t k = 0; k < s->setup->scale_count; k++) {
        const struct scale_state *sc = &s->scales[k];
        const struct settle_rule *rule = &s->setup->scales[k].settle;
        if (sc->link <= LINK_UP)
            sooner(&next, (sc->link == LINK_UP ? sc->settle.newest.at : s->begun_at) + seq_silent_us(rule) + 1, now);
        sooner(&next,
               s->setup->scales[k].agreeing ? agree_next(&sc->agree, &sc->settle.newest, now)
                                            : settle_next(&sc->settle, rule, now),
               now);
    }
    if (s->in_band_since)
        sooner(&next, s->in_band_since + s->setup->accept_us, now);
    sooner(&next, seq_steer_next(s, now), now);
    sooner(&next, s->quiet_until, now);
    return next;
}
