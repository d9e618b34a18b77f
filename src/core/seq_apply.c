/* sequence_apply: the only place where a batch moves. Proposals, resume and replay all come through here. */
#include "core/seq_internal.h"

static void apply_started(struct sequence *s, const struct record *r)
{
    s->started = true;
    s->state = BATCH_RUNNING;
    seq_copy(s->person.code, r->person, CAP_PERSON);
}

/* The next weighing that goes into the same tub starts from this gross. */
static void follow_in_tub(struct sequence *s, const struct item *it)
{
    for (uint16_t k = 0; k < s->item_count; k++) {
        struct item *next = &s->items[k];
        bool tub = next->kind == ITEM_WEIGH && next->way == WAY_TUB && next->status == ITEM_WAITING;
        if (!tub || next->scale != it->scale)
            continue;
        next->status = ITEM_TARED;
        next->in_place = true;
        next->tare = it->gross;
        return;
    }
}

/* What is still to go in after a first portion. */
static void take_rest(struct item *child, const struct item *it)
{
    mass_pg *sides[3] = {&child->target, &child->low, &child->high};
    const mass_pg whole[3] = {it->target, it->low, it->high};
    for (unsigned k = 0; k < 3; k++)
        *sides[k] = whole[k] > it->net ? whole[k] - it->net : 0;
}

static enum fail apply_second_lot(struct sequence *s, struct item *it, const struct record *r)
{
    struct item *child = seq_new_child(s, it);
    if (!child || child->id != r->next)
        return child ? FAIL_SYNTAX : FAIL_FULL;
    take_rest(child, it);
    child->in_place = true;
    child->status = ITEM_TARED;
    child->tare = it->gross;
    child->lot_known = true;
    seq_copy(child->lot, r->next_lot, CAP_LOT);
    it->target = it->low = it->high = it->net; /* the portion stands for itself */
    return FAIL_NONE;
}

static enum fail apply_weighed(struct sequence *s, struct item *it, const struct record *r)
{
    if (it->status > ITEM_TARED)
        return FAIL_SYNTAX;
    it->manner = r->manner;
    it->verdict = r->verdict;
    it->net = r->net;
    it->status = r->manner == MANNER_LIVE ? ITEM_WEIGHED : ITEM_STAGED;
    it->more_answered = it->kind == ITEM_MEAT && s->setup->basis == BASIS_DECLARED; /* no lugs to ask for */
    if (r->has_gross) {
        it->gross = r->gross;
        it->tare = r->tare;
        s->scales[it->scale].holds = it->id;
    }
    if (r->next)
        return apply_second_lot(s, it, r);
    if (it->kind == ITEM_WEIGH && it->way == WAY_TUB && r->has_gross)
        follow_in_tub(s, it);
    return FAIL_NONE;
}

static void apply_staged(struct sequence *s, const struct item *it)
{
    uint8_t scale = it->scale;
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].status == ITEM_WEIGHED && s->items[k].scale == scale)
            s->items[k].status = ITEM_STAGED;
    s->scales[scale].holds = 0;
}

static enum fail apply_more(struct sequence *s, struct item *it, const struct record *r)
{
    it->more_answered = true;
    if (!r->next)
        return FAIL_NONE;
    struct item *lug = seq_new_child(s, it);
    if (!lug || lug->id != r->next)
        return lug ? FAIL_SYNTAX : FAIL_FULL;
    if (lug->has_band) {
        if (it->net < it->low)
            take_rest(lug, it);
        else
            lug->has_band = false; /* the plan is reached: the rest is as it comes */
    }
    return FAIL_NONE;
}

static void apply_basis(struct sequence *s, struct item *it, const struct record *r)
{
    it->status = ITEM_DONE;
    it->net = r->net;
    s->basis = r->net;
    seq_targets(s);
}

/* A thrown-away portion takes the ones below it in the same cup with it; what replaces it has their whole target. */
static enum fail apply_discarded(struct sequence *s, struct item *it, const struct record *r)
{
    mass_pg below = 0;
    for (struct item *at = it; at; at = at->in_place ? seq_item(s, at->parent) : NULL) {
        if (at != it)
            below += at->net;
        at->status = ITEM_DISCARDED;
    }
    it->net = r->net;
    if (it->scale < CAP_SCALES && s->scales[it->scale].holds == it->id)
        s->scales[it->scale].holds = 0;
    struct item *again = seq_new_child(s, it);
    if (!again || again->id != r->next)
        return again ? FAIL_SYNTAX : FAIL_FULL;
    again->target += below;
    again->low += below;
    again->high += below;
    return FAIL_NONE;
}

static void apply_added(struct sequence *s, struct item *it)
{
    it->status = ITEM_DONE;
    for (uint16_t k = 0; k < s->item_count; k++) {
        struct item *in = &s->items[k];
        bool weighed = in->status == ITEM_WEIGHED || in->status == ITEM_STAGED;
        if (weighed && in->ingredient != NO_INGREDIENT &&
            s->setup->formula->ingredients[in->ingredient].add_step == it->step)
            in->status = ITEM_IN_MIXER;
    }
}

static void apply_checked(struct item *it, const struct record *r)
{
    it->net = r->value_milli;
    it->verdict = r->verdict;
    if (r->verdict == VERDICT_IN || r->reason[0])
        it->status = ITEM_DONE;
}

static enum fail apply_to_item(struct sequence *s, struct item *it, const struct record *r)
{
    switch ((enum record_kind)r->kind) {
    case REC_LOT:
        it->lot_known = true;
        seq_copy(it->lot, r->lot, CAP_LOT);
        return FAIL_NONE;
    case REC_TARED:
        it->status = ITEM_TARED;
        it->tare = r->tare;
        s->scales[it->scale].holds = it->id;
        return FAIL_NONE;
    case REC_WEIGHED:
        return apply_weighed(s, it, r);
    case REC_STAGED:
        apply_staged(s, it);
        return FAIL_NONE;
    case REC_MORE:
        return apply_more(s, it, r);
    case REC_BASIS:
        apply_basis(s, it, r);
        return FAIL_NONE;
    case REC_DISCARDED:
        return apply_discarded(s, it, r);
    case REC_ADDED:
        apply_added(s, it);
        return FAIL_NONE;
    case REC_CHECKED:
        apply_checked(it, r);
        return FAIL_NONE;
    default: /* TUB, INSTRUCTED */
        it->status = ITEM_DONE;
        return FAIL_NONE;
    }
}

static bool scale_stands(const struct sequence *s, const struct item *it, const struct record *r)
{
    bool needs = r->kind == REC_TARED || r->kind == REC_STAGED || (r->kind == REC_WEIGHED && r->has_gross);
    return !needs || it->scale < s->setup->scale_count;
}

enum fail sequence_apply(struct sequence *s, const struct record *r)
{
    switch ((enum record_kind)r->kind) {
    case REC_STARTED:
        apply_started(s, r);
        return FAIL_NONE;
    case REC_SIGNED_IN:
        seq_copy(s->person.code, r->person, CAP_PERSON);
        return FAIL_NONE;
    case REC_STATE:
        s->state = r->state;
        return FAIL_NONE;
    default:
        break;
    }
    struct item *it = seq_item(s, r->item);
    if (r->kind >= REC_COUNT || !it || !scale_stands(s, it, r))
        return FAIL_SYNTAX;
    return apply_to_item(s, it, r);
}
