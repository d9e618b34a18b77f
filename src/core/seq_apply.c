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
        struct item *next = seq_item(s, s->order[k]);
        bool tub = next->kind == ITEM_WEIGH && next->way == WAY_TUB && next->status == ITEM_WAITING;
        if (!tub)
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

/* The record names the item that it makes: the next id, and there is room for it. */
static enum fail check_next(const struct sequence *s, const struct record *r)
{
    if (s->item_count >= s->item_cap)
        return FAIL_FULL;
    return r->next == s->item_count + 1 ? FAIL_NONE : FAIL_SYNTAX;
}

/* A second lot goes on top of the first in the same cup or tub; another bag is tared by itself. */
static void apply_second_lot(struct sequence *s, struct item *it, const struct record *r)
{
    struct item *child = seq_new_child(s, it);
    it->rest = child->id;
    it->more_answered = true; /* whether another lug comes is asked after the last lot */
    take_rest(child, it);
    child->lot_known = true;
    seq_copy(child->lot, r->next_lot, CAP_LOT);
    if (it->way == WAY_BAG)
        return;
    child->in_place = true;
    child->status = ITEM_TARED;
    child->tare = it->gross;
}

static enum fail apply_weighed(struct sequence *s, struct item *it, const struct record *r)
{
    enum fail fail = r->next ? check_next(s, r) : FAIL_NONE;
    if (fail)
        return fail;
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
        apply_second_lot(s, it, r);
    else if (it->kind == ITEM_WEIGH && it->way == WAY_TUB && r->has_gross)
        follow_in_tub(s, it);
    return FAIL_NONE;
}

/* One container leaves the platform, and with it every portion that lies in it (tub, second lot). */
static void apply_staged(struct sequence *s, const struct item *it)
{
    uint8_t scale = it->scale;
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].status == ITEM_WEIGHED && s->items[k].scale == scale)
            s->items[k].status = ITEM_STAGED;
    s->scales[scale].holds = 0;
}

static bool basis_is_confirmed(const struct sequence *s)
{
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].kind == ITEM_BASIS)
            return s->items[k].status == ITEM_DONE;
    return false;
}

static enum fail apply_more(struct sequence *s, struct item *it, const struct record *r)
{
    enum fail fail = r->next ? check_next(s, r) : FAIL_NONE;
    if (fail)
        return fail;
    it->more_answered = true;
    if (!r->next) {
        if (basis_is_confirmed(s))
            seq_lower_to_limit(s); /* what was thrown away since then is replaced now, maybe by less */
        return FAIL_NONE;
    }
    struct item *lug = seq_new_child(s, it);
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
    seq_lower_to_limit(s);
}

/* The first of the portions of several lots that share this one's cup. */
static struct item *first_in_cup(struct sequence *s, struct item *it)
{
    while (it->in_place)
        it = seq_item(s, it->parent); /* a lower id: ends */
    return it;
}

/* What is still wanted of `whole` beside the portions that follow it from other lots; of a meat, beside all its later lugs. */
static void want_without(const struct sequence *s, struct item *again, const struct item *whole)
{
    mass_pg others = 0;
    uint16_t follows = again->rest;
    bool later = false;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *at = sequence_item(s, s->order[k]);
        bool lug = later && at->kind == ITEM_MEAT && at->ingredient == again->ingredient;
        if (at->status != ITEM_DISCARDED && (lug || at->id == follows)) {
            others += at->net; /* none yet where it is not weighed */
            follows = at->rest;
        }
        later = later || at == again;
    }
    if (again->kind == ITEM_MEAT && others >= whole->low)
        again->has_band = false; /* the plan is reached without it: as it comes */
    again->target = whole->target > others ? whole->target - others : 0;
    again->low = whole->low > others ? whole->low - others : 0;
    again->high = whole->high > others ? whole->high - others : 0;
}

static void thrown_away(struct sequence *s, struct item *it)
{
    it->status = ITEM_DISCARDED;
    if (s->scales[it->scale].holds == it->id)
        s->scales[it->scale].holds = 0;
}

static struct item *last_of_lots(struct sequence *s, struct item *it)
{
    while (it->rest)
        it = seq_item(s, it->rest); /* a higher id: ends */
    return it;
}

/* A tub is thrown away with all that is in it. Each ingredient is weighed again, and the tub is compared again. */
static enum fail apply_tub_discarded(struct sequence *s, struct item *named, const struct record *r)
{
    uint16_t before = s->item_count;
    if (before + seq_discard_makes(s, named) > s->item_cap)
        return FAIL_FULL;
    named->net = r->net;
    for (uint16_t k = 0; k < before; k++) {
        struct item *it = &s->items[k];
        if (it->kind == ITEM_TUB && it->status == ITEM_DONE)
            (void)seq_new_child(s, it);
        if (!seq_in_tub(it))
            continue;
        if (!seq_is_rest(s, it)) {
            struct item *again = seq_new_child(s, last_of_lots(s, it));
            again->target = it->target;
            again->low = it->low;
            again->high = it->high;
        }
        thrown_away(s, it);
    }
    return FAIL_NONE;
}

/* A cup is thrown away with all the portions in it; what replaces it is wanted as they were together. */
static enum fail apply_discarded(struct sequence *s, struct item *it, const struct record *r)
{
    enum fail fail = check_next(s, r);
    if (fail)
        return fail;
    if (it->way == WAY_TUB)
        return apply_tub_discarded(s, it, r);
    struct item *first = first_in_cup(s, it), *last = first;
    it->net = r->net;
    thrown_away(s, first);
    for (struct item *at = seq_item(s, first->rest); at && at->in_place; at = seq_item(s, last->rest)) {
        thrown_away(s, at);
        last = at;
    }
    struct item *again = seq_new_child(s, last);
    again->rest = last->rest;
    want_without(s, again, first);
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].rest == first->id)
            s->items[k].rest = again->id;
    return FAIL_NONE;
}

static void apply_added(struct sequence *s, struct item *it)
{
    it->status = ITEM_DONE;
    for (uint16_t k = 0; k < s->item_count; k++) {
        struct item *in = &s->items[k];
        bool weighed = in->status == ITEM_WEIGHED || in->status == ITEM_STAGED;
        if (weighed && s->setup->formula->ingredients[in->ingredient].add_step == it->step)
            in->status = ITEM_IN_MIXER;
    }
}

/* Out of its limits and without a reason it stays open: it is measured again. */
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
    case REC_UNTARED:
        it->status = ITEM_WAITING;
        it->tare = 0;
        s->scales[it->scale].holds = 0;
        return FAIL_NONE;
    case REC_EMPTIED: /* of the platform, not of the item */
        return FAIL_NONE;
    default: /* TUB, INSTRUCTED */
        it->status = ITEM_DONE;
        return FAIL_NONE;
    }
}

static bool weighs(const struct item *it)
{
    return it->kind == ITEM_MEAT || it->kind == ITEM_WEIGH;
}

/* A live weight is that of the tared container on the item's own scale. */
static bool weighed_fits(const struct sequence *s, const struct item *it, const struct record *r)
{
    if (!weighs(it) || it->status > ITEM_TARED || r->ingredient != it->ingredient || r->manner > MANNER_LABEL)
        return false;
    if (!r->has_gross)
        return r->manner != MANNER_LIVE && r->next == 0;
    return it->scale < s->setup->scale_count && r->scale == it->scale && it->status == ITEM_TARED &&
           r->tare == it->tare;
}

/* Does the record say something that can happen to this item now? */
static bool fits(const struct sequence *s, const struct item *it, const struct record *r)
{
    bool own_scale = it->scale < s->setup->scale_count && r->scale == it->scale;
    bool accepted = it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER;
    bool waits = it->status == ITEM_WAITING;
    switch ((enum record_kind)r->kind) {
    case REC_LOT:
        return weighs(it) && it->status <= ITEM_TARED;
    case REC_TARED:
        return weighs(it) && waits && own_scale;
    case REC_WEIGHED:
        return weighed_fits(s, it, r);
    case REC_STAGED:
        return weighs(it) && it->status == ITEM_WEIGHED && own_scale;
    case REC_MORE:
        return it->kind == ITEM_MEAT && accepted;
    case REC_DISCARDED:
        return seq_may_discard(it) && own_scale;
    case REC_BASIS:
        return it->kind == ITEM_BASIS && waits && r->net > 0;
    case REC_TUB:
        return it->kind == ITEM_TUB && waits;
    case REC_ADDED:
        return it->kind == ITEM_ADD && waits;
    case REC_INSTRUCTED:
        return it->kind == ITEM_INSTRUCTION && waits;
    case REC_CHECKED:
        return it->kind == ITEM_CHECK && waits;
    case REC_UNTARED:
        return weighs(it) && it->status == ITEM_TARED && !it->in_place && own_scale;
    case REC_EMPTIED:
        return r->scale < s->setup->scale_count;
    default:
        return false;
    }
}

static enum fail apply_state(struct sequence *s, const struct record *r)
{
    if (r->state <= BATCH_IDLE || r->state > BATCH_ABORTED)
        return FAIL_SYNTAX;
    s->state = r->state;
    return FAIL_NONE;
}

enum fail sequence_apply(struct sequence *s, const struct record *r)
{
    bool opens = r->kind == REC_STARTED;
    if (opens == s->started || s->state >= BATCH_COMPLETE)
        return FAIL_SYNTAX;
    switch ((enum record_kind)r->kind) {
    case REC_STARTED:
        apply_started(s, r);
        return FAIL_NONE;
    case REC_SIGNED_IN:
        seq_copy(s->person.code, r->person, CAP_PERSON);
        return FAIL_NONE;
    case REC_STATE:
        return apply_state(s, r);
    default:
        break;
    }
    struct item *it = seq_item(s, r->item);
    return it && fits(s, it, r) ? apply_to_item(s, it, r) : FAIL_SYNTAX;
}
