/* The work list of a batch: laying it out, new items after their parent, and targets. */
#include <string.h>

#include "core/seq_internal.h"

struct item *seq_item(struct sequence *s, uint16_t id)
{
    return id >= 1 && id <= s->item_count ? &s->items[id - 1] : NULL;
}

const struct item *sequence_item(const struct sequence *s, uint16_t id)
{
    return id >= 1 && id <= s->item_count ? &s->items[id - 1] : NULL;
}

struct item *seq_current(struct sequence *s)
{
    return seq_item(s, s->current);
}

static struct item *new_item(struct sequence *s, enum item_kind kind)
{
    if (s->item_count >= s->item_cap)
        return NULL;
    struct item *it = &s->items[s->item_count++];
    memset(it, 0, sizeof *it);
    it->id = s->item_count;
    it->kind = (uint8_t)kind;
    it->ingredient = NO_INGREDIENT;
    it->scale = NO_SCALE;
    s->order[it->id - 1] = it->id;
    return it;
}

/* A twin of `after` that is worked on right after it; its parent is `after`. NULL: the array is full. */
struct item *seq_new_child(struct sequence *s, const struct item *after)
{
    uint16_t place = 0;
    while (place < s->item_count && s->order[place] != after->id)
        place++;
    struct item *it = new_item(s, (enum item_kind)after->kind);
    if (!it)
        return NULL;
    for (uint16_t k = (uint16_t)(s->item_count - 1); k > place + 1; k--)
        s->order[k] = s->order[k - 1];
    s->order[place + 1] = it->id;
    it->parent = after->id;
    it->way = after->way;
    it->ingredient = after->ingredient;
    it->step = after->step;
    it->scale = after->scale;
    it->has_band = after->has_band;
    it->unfit = after->unfit;
    it->target = after->target;
    it->low = after->low;
    it->high = after->high;
    return it;
}

static uint8_t by_weigh_order(const struct formula *f, unsigned place)
{
    for (uint8_t i = 0; i < f->ingredient_count; i++)
        if (f->ingredients[i].weigh_order == place)
            return i;
    return NO_INGREDIENT;
}

/* The last ingredient in the order of weighing that is meat (tub: goes into the common tub), or NO_INGREDIENT. */
static uint8_t last_of(const struct formula *f, bool meat)
{
    uint8_t last = NO_INGREDIENT;
    for (unsigned place = 0; place < f->ingredient_count; place++) {
        uint8_t i = by_weigh_order(f, place);
        if (i == NO_INGREDIENT)
            continue;
        const struct ingredient *in = &f->ingredients[i];
        if (meat ? in->meat : (!in->meat && in->way == WAY_TUB))
            last = i;
    }
    return last;
}

/* Behind the last meat the basis is confirmed; behind the last of the tub it is compared with what went into it. */
static bool lay_ingredient(struct sequence *s, uint8_t i)
{
    const struct formula *f = s->setup->formula;
    const struct ingredient *in = &f->ingredients[i];
    struct item *it = new_item(s, in->meat ? ITEM_MEAT : ITEM_WEIGH);
    if (!it)
        return false;
    it->ingredient = i;
    it->way = in->way;
    if (i == last_of(f, true) && !new_item(s, ITEM_BASIS))
        return false;
    return i != last_of(f, false) || new_item(s, ITEM_TUB);
}

/* Meats, others, or both as they come in the order of weighing. */
static enum fail lay_ingredients(struct sequence *s, bool meats, bool others)
{
    const struct formula *f = s->setup->formula;
    for (unsigned place = 0; place < f->ingredient_count; place++) {
        uint8_t i = by_weigh_order(f, place);
        if (i == NO_INGREDIENT)
            return FAIL_SYNTAX;
        const struct ingredient *in = &f->ingredients[i];
        if (!in->meat && in->way == WAY_TUB && seq_is_regulated(s->setup, i))
            return FAIL_SYNTAX;
        if ((in->meat ? meats : others) && !lay_ingredient(s, i))
            return FAIL_FULL;
    }
    return FAIL_NONE;
}

static bool lay_step(struct sequence *s, uint8_t step)
{
    static const uint8_t kinds[] = {
        [STEP_ADD] = ITEM_ADD, [STEP_INSTRUCTION] = ITEM_INSTRUCTION, [STEP_CHECK] = ITEM_CHECK};
    struct item *it = new_item(s, (enum item_kind)kinds[s->setup->formula->steps[step].kind]);
    if (it)
        it->step = step;
    return it != NULL;
}

/* A planned batch knows every target before its first weighing. */
static enum fail plan(struct sequence *s)
{
    if (s->item_count + seq_portions(s, s->setup->basis_mass) > s->item_cap)
        return FAIL_FULL;
    s->basis = s->setup->basis_mass;
    seq_targets(s);
    return FAIL_NONE;
}

static enum fail check_setup(const struct setup *setup)
{
    mass_pg targets[CAP_INGREDIENTS];
    if (setup->scale_count == 0 || setup->scale_count > CAP_SCALES)
        return FAIL_RANGE;
    return setup->basis == BASIS_WEIGHED ? FAIL_NONE : scale_formula(setup->formula, setup->basis_mass, targets);
}

enum fail sequence_init(struct sequence *s, const struct setup *setup, struct item *items, uint16_t *order,
                        uint16_t item_cap)
{
    const struct formula *f = setup->formula;
    bool planned = setup->basis == BASIS_PLANNED;
    enum fail fail = check_setup(setup);
    memset(s, 0, sizeof *s);
    s->setup = setup;
    s->items = items;
    s->order = order;
    s->item_cap = item_cap;
    for (uint8_t k = 0; k < CAP_SCALES; k++)
        settle_reset(&s->scales[k].settle);
    if (!fail)
        fail = lay_ingredients(s, true, planned);
    if (!fail && !planned)
        fail = lay_ingredients(s, false, true);
    if (fail)
        return fail;
    for (uint8_t step = 0; step < f->step_count; step++)
        if (!lay_step(s, step))
            return FAIL_FULL;
    for (uint16_t k = 0; k < s->item_count; k++)
        if (s->items[k].kind == ITEM_MEAT)
            s->items[k].scale = seq_largest_scale(setup);
    return planned ? plan(s) : FAIL_NONE;
}

bool seq_may_discard(const struct item *it)
{
    bool weighed = it->kind == ITEM_MEAT || it->kind == ITEM_WEIGH;
    return weighed && it->status >= ITEM_TARED && it->status <= ITEM_STAGED;
}

bool seq_in_tub(const struct item *it)
{
    return it->kind == ITEM_WEIGH && it->way == WAY_TUB && seq_may_discard(it);
}

bool seq_is_rest(const struct sequence *s, const struct item *it)
{
    const struct item *parent = sequence_item(s, it->parent);
    return parent && parent->rest == it->id;
}

uint16_t seq_discard_makes(const struct sequence *s, const struct item *it)
{
    uint16_t n = 0;
    if (it->way != WAY_TUB)
        return 1;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *in = &s->items[k];
        bool again = seq_in_tub(in) ? !seq_is_rest(s, in) : in->kind == ITEM_TUB && in->status == ITEM_DONE;
        n = (uint16_t)(n + again);
    }
    return n;
}

/* A lug is done with when it is also known whether another one comes. */
bool seq_finished(const struct item *it)
{
    switch ((enum item_kind)it->kind) {
    case ITEM_MEAT:
        if (it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER)
            return it->more_answered;
        return it->status == ITEM_DISCARDED;
    case ITEM_WEIGH:
        return it->status >= ITEM_WEIGHED;
    default:
        return it->status == ITEM_DONE;
    }
}

/* forced: the tub's scale, or NO_SCALE to choose one. */
static void set_target(const struct sequence *s, struct item *it, mass_pg exact, mass_pg limit, uint8_t forced)
{
    const struct ingredient *in = &s->setup->formula->ingredients[it->ingredient];
    const struct portion p = {it->ingredient, exact, limit};
    struct band band;
    it->scale = forced;
    if (forced == NO_SCALE)
        it->scale = seq_pick_scale(s->setup, &p);
    if (it->scale == NO_SCALE)
        it->scale = seq_least_bad_scale(s->setup, &p);
    it->unfit = !in->meat && !seq_fits(s->setup, it->scale, &p);
    if (band_make(exact, &in->band, s->setup->scales[it->scale].division, limit, &band))
        band = (struct band){exact, exact, exact}; /* the scale can't show it: no net is in its band */
    it->has_band = true;
    it->target = band.target;
    it->low = band.low;
    it->high = band.high;
}

/* Portions after the first are children, each with its even part of target and limit; the last takes the rest. */
static void set_portions(struct sequence *s, struct item *it, mass_pg exact, mass_pg limit)
{
    uint16_t n = seq_portions_of(s->setup, it->ingredient, exact);
    mass_pg part = exact / n, lawful = limit / n;
    for (uint16_t k = 1; it && k < n; k++) {
        set_target(s, it, part, limit < 0 ? -1 : lawful, NO_SCALE);
        it = seq_new_child(s, it); /* there is room: else the basis is refused */
    }
    if (it)
        set_target(s, it, exact - part * (n - 1), limit < 0 ? -1 : limit - lawful * (n - 1), NO_SCALE);
}

/* Sets the target of every weighing that waits for the basis; meats too where the basis is planned. */
void seq_targets(struct sequence *s)
{
    const struct formula *f = s->setup->formula;
    mass_pg targets[CAP_INGREDIENTS];
    if (scale_formula(f, s->basis, targets))
        return;
    uint8_t tub = seq_tub_scale(s->setup, targets);
    uint16_t count = s->item_count; /* portions made on the way have their targets */
    for (uint16_t k = 0; k < count; k++) {
        struct item *it = &s->items[k];
        if (it->kind == ITEM_TUB)
            it->scale = tub;
        if (it->ingredient == NO_INGREDIENT || it->has_band || it->status != ITEM_WAITING)
            continue;
        mass_pg exact = targets[it->ingredient];
        if (it->kind == ITEM_MEAT) {
            if (s->setup->basis == BASIS_PLANNED)
                set_target(s, it, exact, -1, NO_SCALE);
        } else if (it->way == WAY_TUB) {
            set_target(s, it, exact, -1, tub);
        } else {
            set_portions(s, it, exact, seq_lawful_mass(s->setup, it->ingredient, s->basis, targets));
        }
    }
}

mass_pg seq_meat_net(const struct sequence *s)
{
    mass_pg sum = 0;
    for (uint16_t k = 0; k < s->item_count; k++) {
        const struct item *it = &s->items[k];
        bool in = it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER;
        if (it->kind == ITEM_MEAT && in)
            (void)add64(sum, it->net, &sum);
    }
    return sum;
}
