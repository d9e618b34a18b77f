/* Answers: what a person's word does to the prompt that is open. */
#include <string.h>

#include "core/seq_internal.h"

/* How far the tub's gross may be off at the end. */
#define TUB_DIVISIONS 2

static void propose_for_item(struct sequence *s, enum record_kind kind, struct effects *fx)
{
    seq_draft(s, kind);
    seq_propose(s, fx);
}

static bool room_for(struct sequence *s, uint16_t items, struct effects *fx)
{
    if (s->item_count + items <= s->item_cap)
        return true;
    seq_refuse(fx, s, REFUSED_FULL);
    return false;
}

static void to_state(struct sequence *s, enum batch_state state, const char *reason, struct effects *fx)
{
    struct record *r = seq_draft(s, REC_STATE);
    r->state = (uint8_t)state;
    seq_copy(r->reason, reason, CAP_REASON);
    seq_propose(s, fx);
}

static enum batch_state state_of(enum answer_word word)
{
    switch (word) {
    case ANSWER_PAUSE:
        return BATCH_PAUSED;
    case ANSWER_STOP:
        return BATCH_STOPPED;
    case ANSWER_ABORT:
        return BATCH_ABORTED;
    default:
        return BATCH_RUNNING;
    }
}

/* A held batch is not paused: it would come back as one that anybody may resume. `go` is for a pause of this run; after a
 * restart the sign-in and the platforms come first. */
static bool may_change(const struct sequence *s, enum batch_state to)
{
    if (to == BATCH_PAUSED)
        return s->state == BATCH_RUNNING || s->state == BATCH_IDLE;
    if (to == BATCH_RUNNING)
        return s->state == BATCH_PAUSED && !(s->started && s->phase <= PHASE_RESUME);
    return true;
}

/* Before anything was accepted there is no batch to write about. */
static void pause_go_stop(struct sequence *s, const struct answer *a, struct effects *fx)
{
    enum batch_state to = state_of((enum answer_word)a->word);
    if (!may_change(s, to)) {
        seq_refuse(fx, s, REFUSED_WORD);
        return;
    }
    if (s->started) {
        to_state(s, to, a->text, fx);
        return;
    }
    s->state = (uint8_t)(to == BATCH_RUNNING ? BATCH_IDLE : to);
    seq_effect(fx, FX_STATE, to);
    if (to == BATCH_RUNNING) {
        seq_reopen(s, fx);
    } else if (to != BATCH_PAUSED) {
        s->phase = PHASE_ENDED;
        seq_effect(fx, FX_END, 1);
    }
}

/* Until the batch goes on nobody's name stands beside anything: only a later change of hands is an entry. */
static void other_person(struct sequence *s, const struct answer *a, struct effects *fx)
{
    if (!a->who.code[0]) {
        seq_refuse(fx, s, REFUSED_PERSON);
        return;
    }
    if (s->started && s->phase > PHASE_RESUME) {
        struct record *r = seq_draft(s, REC_SIGNED_IN);
        seq_copy(r->person, a->who.code, CAP_PERSON);
        s->incoming = a->who;
        seq_propose(s, fx);
        return;
    }
    seq_sign_in(s, &a->who, fx);
}

static enum refusal_code may_type(const struct sequence *s, const struct answer *a)
{
    const struct item *it = sequence_item(s, s->current);
    if (!it || !phase_row((enum phase)s->phase)->weighing || it->ingredient == NO_INGREDIENT)
        return REFUSED_WORD;
    /* one that was not heard yet is not dead */
    if (s->scales[it->scale].link == LINK_UP || s->scales[it->scale].link == LINK_WAITING)
        return REFUSED_LIVE;
    if (!(s->person.rights & RIGHT_TYPE))
        return REFUSED_RIGHT;
    /* more than that scale could have held was never meant to be weighed there: a slip, or another unit */
    return a->mass > 0 && a->mass <= s->setup->scales[it->scale].capacity ? REFUSED_COUNT : REFUSED_VALUE;
}

static void typed(struct sequence *s, const struct answer *a, struct effects *fx)
{
    enum refusal_code no = may_type(s, a);
    if (no != REFUSED_COUNT) {
        seq_refuse(fx, s, no);
        return;
    }
    static const uint8_t phases[] = {
        [VERDICT_IN] = PHASE_CONFIRM, [VERDICT_OVER] = PHASE_OVER, [VERDICT_UNDER] = PHASE_UNDER};
    const struct item *it = seq_current(s);
    s->typed = true;
    s->typed_net = a->mass;
    s->opened_net = a->mass;
    enum verdict verdict = seq_judge(it, a->mass);
    if (it->kind == ITEM_MEAT && verdict == VERDICT_UNDER)
        verdict = VERDICT_IN; /* a part of the plan */
    if (verdict == VERDICT_OVER) {
        seq_notice(fx, NOTICE_OVER, it->scale, it->id)->mass = a->mass - it->high;
    }
    seq_open(s, (enum phase)phases[verdict], fx);
}

/* "That's all": a part of a planned meat may be confirmed, anything else is under. */
static void done(struct sequence *s, uint64_t now, struct effects *fx)
{
    const struct item *it = seq_current(s);
    mass_pg gross, net = 0;
    bool disputed;
    enum refusal_code no = seq_unsettled(s, it->scale, now, &gross, &disputed);
    if (no == REFUSED_COUNT && !seq_item_net(s, it, gross, &net))
        no = REFUSED_MOVING;
    if (no == REFUSED_COUNT && net < -2 * seq_division(s, it->scale)) { /* the container is not even there */
        seq_notice(fx, NOTICE_CONTAINER, it->scale, it->id)->mass = gross;
        no = REFUSED_BAND;
    }
    if (no != REFUSED_COUNT) {
        seq_refuse(fx, s, no);
        return;
    }
    s->opened_net = net;
    bool part = it->kind == ITEM_MEAT && net >= s->setup->scales[it->scale].min_load && net > 0;
    seq_open(s, part ? PHASE_CONFIRM : PHASE_UNDER, fx);
}

/* A critical ingredient is accepted by two, in its band or not: what the first one said is kept until the other's yes. */
static void accept_or_second(struct sequence *s, const struct answer *a, uint64_t now, const struct acceptance *how,
                             struct effects *fx)
{
    const struct item *it = seq_current(s);
    enum refusal_code no = seq_weigh(s, now, how);
    if (no != REFUSED_COUNT) {
        seq_refuse(fx, s, no);
        return;
    }
    if (!s->setup->formula->ingredients[it->ingredient].critical) {
        seq_propose(s, fx);
        return;
    }
    s->why_word = a->word;
    seq_copy(s->why, a->word == ANSWER_YES ? "" : a->text, CAP_REASON);
    seq_open(s, PHASE_SECOND, fx);
}

void seq_accept(struct sequence *s, uint64_t now, struct effects *fx)
{
    static const struct acceptance plain;
    static const struct answer bare = {.word = ANSWER_YES};
    accept_or_second(s, &bare, now, &plain, fx);
}

static void propose_discard(struct sequence *s, const struct item *it, mass_pg net, const char *reason,
                            struct effects *fx)
{
    if (!room_for(s, seq_discard_makes(s, it), fx))
        return;
    struct record *r = seq_draft_of(s, REC_DISCARDED, it);
    r->next = (uint16_t)(s->item_count + 1);
    r->net = net;
    seq_copy(r->reason, reason, CAP_REASON);
    seq_propose(s, fx);
}

/* Where nothing of the first lot went in it is simply another lot, but another bag needs its own tare. */
static void second_lot(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    const struct item *it = seq_current(s);
    const struct acceptance how = {.next_lot = a->text};
    mass_pg net = 0;
    if (!sequence_net(s, now, &net)) {
        seq_refuse(fx, s, REFUSED_STALE); /* how much of the first lot went in can't be told now */
    } else if (net > 0) {
        if (room_for(s, 1, fx))
            accept_or_second(s, a, now, &how, fx);
    } else if (it->way == WAY_BAG) {
        propose_discard(s, it, 0, "", fx);
    } else {
        struct record *r = seq_draft(s, REC_LOT);
        seq_copy(r->lot, a->text, CAP_LOT);
        seq_propose(s, fx);
    }
}

/* The current portion; at an addition the cup that was spilt, at the basis the lug that was wrong. */
static void discard(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    bool adding = s->phase == PHASE_ADD || s->phase == PHASE_BASIS;
    bool changed = s->phase == PHASE_CHANGED;
    const struct item *it = sequence_item(s, adding ? a->item : changed ? s->prompt.item : s->current);
    bool another = !adding && it && a->item && a->item != it->id; /* only those two ask which one */
    bool other_kind = adding && it && (it->kind == ITEM_MEAT) != (s->phase == PHASE_BASIS);
    if (!it || another || other_kind || !seq_may_discard(it)) {
        seq_refuse(fx, s, REFUSED_VALUE);
        return;
    }
    mass_pg net = it->net;
    if (it->status == ITEM_TARED && (!sequence_net(s, now, &net) || net < 0))
        net = 0;
    propose_discard(s, it, net, a->text, fx);
}

static void second(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    const struct acceptance both = {.second = a->who.code[0] ? a->who.code : s->person.code,
                                    .reason = s->why_word == ANSWER_LOT ? NULL : s->why,
                                    .next_lot = s->why_word == ANSWER_LOT ? s->why : NULL};
    bool other = a->who.code[0] && !seq_same(a->who.code, s->person.code);
    enum refusal_code no = s->prompt.other && !other ? REFUSED_PERSON : seq_weigh(s, now, &both);
    if (no == REFUSED_COUNT)
        seq_propose(s, fx);
    else
        seq_refuse(fx, s, no);
}

static void more(struct sequence *s, const struct answer *a, struct effects *fx)
{
    const struct item *it = seq_current(s);
    struct record *r = seq_draft(s, REC_MORE);
    bool another = a->word == ANSWER_YES;
    bool short_of_plan = it->has_band && it->net < it->low; /* to stop there accepts a weight below its band */
    if (another && !room_for(s, 1, fx))
        return;
    if (!another && short_of_plan && !(s->person.rights & RIGHT_ACCEPT)) {
        seq_refuse(fx, s, REFUSED_RIGHT);
        return;
    }
    r->next = (uint16_t)(another ? s->item_count + 1 : 0);
    seq_propose(s, fx);
}

static void refuse_ingredient(struct sequence *s, uint8_t ingredient, enum notice_code notice, enum refusal_code code,
                              struct effects *fx)
{
    seq_notice(fx, notice, NO_SCALE, s->current)->ingredient = ingredient;
    seq_refuse(fx, s, code);
}

/* "no": the meat is not all in yet, one more lug after the last. */
static void another_lug(struct sequence *s, struct effects *fx)
{
    const struct item *last = NULL;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *it = sequence_item(s, s->order[k]);
        if (it->kind == ITEM_MEAT && it->status != ITEM_DISCARDED)
            last = it;
    }
    if (!last || !room_for(s, 1, fx))
        return;
    struct record *r = seq_draft_of(s, REC_MORE, last);
    r->next = (uint16_t)(s->item_count + 1);
    seq_propose(s, fx);
}

/* The last moment before anything is poured: what no scale or no law allows is refused here. */
static void basis(struct sequence *s, struct effects *fx)
{
    struct record *r = seq_draft(s, REC_BASIS);
    r->basis = s->setup->basis;
    r->net = s->prompt.basis;
    uint8_t unfit = sequence_unfit(s, r->net), above = seq_above_limit(s);
    if (unfit == s->setup->formula->ingredient_count)
        seq_refuse(fx, s, REFUSED_FULL);
    else if (unfit != NO_INGREDIENT)
        refuse_ingredient(s, unfit, NOTICE_UNFIT, REFUSED_UNFIT, fx);
    else if (above != NO_INGREDIENT)
        refuse_ingredient(s, above, NOTICE_LIMIT, REFUSED_LIMIT, fx);
    else if (s->setup->basis == BASIS_PLANNED || room_for(s, seq_portions(s, r->net), fx))
        seq_propose(s, fx);
}

/* The newest portion in the tub. */
static const struct item *last_in_tub(const struct sequence *s)
{
    const struct item *last = NULL;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *it = sequence_item(s, s->order[k]);
        if (seq_in_tub(it))
            last = it;
    }
    return last;
}

/* The tare that this portion's running net goes back to: of itself, or of the first it stands on. */
static mass_pg tub_tare(const struct sequence *s, const struct item *it)
{
    mass_pg tare = it->tare;
    for (uint16_t k = s->item_count; it->in_place && k > 0; k--) {
        const struct item *below = sequence_item(s, s->order[k - 1]);
        if (!seq_in_tub(below) || below->gross != tare)
            continue;
        it = below;
        tare = below->tare;
    }
    return tare;
}

/* The tub on its scale against its tare and nets; a last portion that was typed left no gross to compare. */
static enum refusal_code weigh_tub(const struct sequence *s, uint64_t now, struct record *r)
{
    const struct item *last = last_in_tub(s);
    mass_pg slack = TUB_DIVISIONS * seq_division(s, r->scale);
    if (!last || last->manner != MANNER_LIVE)
        return REFUSED_COUNT;
    enum refusal_code no = seq_unsettled(s, r->scale, now, &r->gross, &r->disputed);
    if (no != REFUSED_COUNT)
        return no;
    r->has_gross = r->has_band = true;
    r->tare = tub_tare(s, last);
    r->net = r->gross - r->tare;
    r->target = last->gross - r->tare;
    r->low = r->target - slack;
    r->high = r->target + slack;
    r->verdict = VERDICT_IN;
    if (r->net < r->low || r->net > r->high)
        r->verdict = r->net < r->low ? VERDICT_UNDER : VERDICT_OVER;
    return r->verdict == VERDICT_IN ? REFUSED_COUNT
                                    : REFUSED_TUB; /* its earlier load: a line that was lost hid nothing */
}

/* With a reason also a tub that does not agree, or whose scale has died since. */
static void tub(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    struct record *r = seq_draft(s, REC_TUB);
    enum refusal_code no = weigh_tub(s, now, r);
    bool kept = a->word == ANSWER_KEEP && no != REFUSED_MOVING;
    if (no != REFUSED_COUNT && !kept) {
        seq_refuse(fx, s, no);
        return;
    }
    if (kept)
        seq_copy(r->reason, a->text, CAP_REASON);
    seq_propose(s, fx);
}

static void check(struct sequence *s, const struct answer *a, struct effects *fx)
{
    const struct item *it = seq_current(s);
    const struct step *st = &s->setup->formula->steps[it->step];
    struct record *r = seq_draft(s, REC_CHECKED);
    bool keep = a->word == ANSWER_KEEP;
    r->value_milli = keep ? (int32_t)it->net : a->value_milli; /* a check's item holds its last value there */
    r->verdict = VERDICT_IN;
    if (st->low_milli != CHECK_NONE && r->value_milli < st->low_milli)
        r->verdict = VERDICT_UNDER;
    if (st->high_milli != CHECK_NONE && r->value_milli > st->high_milli)
        r->verdict = VERDICT_OVER;
    if (keep)
        seq_copy(r->reason, a->text, CAP_REASON);
    seq_propose(s, fx);
}

static void yes(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    switch ((enum phase)s->phase) {
    case PHASE_RESUME:
        to_state(s, BATCH_RUNNING, "", fx);
        break;
    case PHASE_RETRY:
        seq_go_on(s, fx);
        break;
    case PHASE_CONFIRM:
        seq_yes_to_weight(s, now, fx);
        break;
    case PHASE_SECOND:
        second(s, a, now, fx);
        break;
    case PHASE_MORE:
        more(s, a, fx);
        break;
    case PHASE_BASIS:
        basis(s, fx);
        break;
    case PHASE_TUB:
        tub(s, a, now, fx);
        break;
    case PHASE_CONTAINER:
        s->said_empty = true; /* its tare is proposed as soon as it is settled */
        break;
    case PHASE_CHANGED:
        seq_propose_staged(s, s->prompt.scale, true, fx);
        break;
    case PHASE_EMPTY:
        seq_confirm_empty(s, now, fx);
        break;
    case PHASE_ADD:
        propose_for_item(s, REC_ADDED, fx);
        break;
    default:
        propose_for_item(s, REC_INSTRUCTED, fx);
    }
}

static void with_reason(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    const struct acceptance how = {.reason = a->text};
    if (!a->text[0])
        seq_refuse(fx, s, REFUSED_VALUE);
    else if (s->phase == PHASE_CHECK)
        check(s, a, fx);
    else if (s->phase == PHASE_TUB)
        tub(s, a, now, fx);
    else
        accept_or_second(s, a, now, &how, fx);
}

static void lot(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    unsigned length = 0;
    while (length < CAP_LOT && a->text[length])
        length++;
    if (length == 0 || length == CAP_LOT) { /* a code cut short would be another lot's */
        seq_refuse(fx, s, REFUSED_VALUE);
        return;
    }
    if (s->phase == PHASE_UNDER) {
        second_lot(s, a, now, fx);
        return;
    }
    struct record *r = seq_draft(s, REC_LOT);
    seq_copy(r->lot, a->text, CAP_LOT);
    seq_propose(s, fx);
}

static void take(struct sequence *s, const struct answer *a, uint64_t now, struct effects *fx)
{
    switch ((enum answer_word)a->word) {
    case ANSWER_YES:
        yes(s, a, now, fx);
        break;
    case ANSWER_NO:
        if (s->phase == PHASE_BASIS)
            another_lug(s, fx);
        else
            more(s, a, fx);
        break;
    case ANSWER_DONE:
        done(s, now, fx);
        break;
    case ANSWER_LOT:
        lot(s, a, now, fx);
        break;
    case ANSWER_KEEP:
    case ANSWER_SHORT:
        with_reason(s, a, now, fx);
        break;
    case ANSWER_DISCARD:
        discard(s, a, now, fx);
        break;
    case ANSWER_HOLD:
        to_state(s, BATCH_HELD, a->text, fx);
        break;
    default: /* VALUE: the words that are left belong to always_taken */
        check(s, a, fx);
    }
}

static bool always_taken(struct sequence *s, const struct answer *a, struct effects *fx)
{
    switch ((enum answer_word)a->word) {
    case ANSWER_PAUSE:
    case ANSWER_GO:
    case ANSWER_STOP:
    case ANSWER_ABORT:
        pause_go_stop(s, a, fx);
        return true;
    case ANSWER_PERSON:
        if (!s->setup->people)
            return false;
        other_person(s, a, fx);
        return true;
    case ANSWER_TYPED:
        if (s->state == BATCH_PAUSED)
            return false;
        typed(s, a, fx);
        return true;
    default:
        return false;
    }
}

/* A word that the phase takes, but not from this person. */
static bool lacks_right(const struct sequence *s, const struct answer *a)
{
    uint16_t word = (uint16_t)(1u << a->word);
    bool rights = (word & (TAKES(KEEP) | TAKES(SHORT))) || s->phase == PHASE_RESUME;
    return rights && s->phase != PHASE_CONFIRM && (phase_row((enum phase)s->phase)->answers & word);
}

/* "yes" to what no scale is fit for: a reason is wanted. */
static enum refusal_code word_refused(const struct sequence *s, const struct answer *a)
{
    bool unfit = s->phase == PHASE_CONFIRM && a->word == ANSWER_YES;
    return unfit ? REFUSED_UNFIT : REFUSED_WORD;
}

/* The prompt that it was given for comes first: nothing is ever applied to the next one. */
void seq_answer(struct sequence *s, const struct event *ev, struct effects *fx)
{
    const struct answer *a = &ev->answer;
    if (s->storing || a->prompt != s->prompt.id) {
        seq_effect(fx, FX_REFUSED, s->storing ? REFUSED_STORING : REFUSED_CLOSED)->prompt = a->prompt;
        return;
    }
    if (a->word != ANSWER_YES) /* one that waits is not meant any more */
        s->yes_since = 0;
    if (a->word >= ANSWER_COUNT || always_taken(s, a, fx)) {
        if (a->word >= ANSWER_COUNT)
            seq_refuse(fx, s, REFUSED_WORD);
        return;
    }
    bool resuming = s->phase == PHASE_RESUME;
    if (s->state == BATCH_PAUSED && !resuming) {
        seq_refuse(fx, s, REFUSED_PAUSED);
        return;
    }
    if (s->phase == PHASE_FILL && a->word == ANSWER_YES) {
        seq_yes_to_weight(s, ev->at, fx);
        return;
    }
    if (!(s->prompt.answers & (1u << a->word))) {
        mass_pg most;
        const struct item *it = seq_current(s);
        bool above =
            a->word == ANSWER_KEEP && s->phase == PHASE_OVER && seq_lawful(s, it, &most) && s->opened_net > most;
        seq_refuse(fx, s, above ? REFUSED_LIMIT : lacks_right(s, a) ? REFUSED_RIGHT : word_refused(s, a));
        return;
    }
    take(s, a, ev->at, fx);
}
