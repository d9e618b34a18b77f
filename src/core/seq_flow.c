/* What the hand that fills is told: ease off, stop now. It never opens, closes or records anything. */
#include "core/seq_internal.h"

/* The scale on which the cue is for the current item, and what is to be reached; NO_SCALE: nothing is to be told. A lug
 * without a plan has no band, and what a doubtful platform says is no net. */
static uint8_t steered(const struct sequence *s, struct flow_aim *aim)
{
    const struct item *it = sequence_item(s, s->current);
    bool filling = s->phase == PHASE_FILL || s->phase == PHASE_UNDER;
    if (!filling || s->state != BATCH_RUNNING || s->storing || s->typed || !it || it->status != ITEM_TARED ||
        !it->has_band || it->scale >= s->setup->scale_count || s->scales[it->scale].doubt)
        return NO_SCALE;
    *aim = (struct flow_aim){it->tare, it->target, it->low, it->high, it->way == WAY_BAG};
    return it->scale;
}

struct flow_view sequence_flow(const struct sequence *s, uint64_t now)
{
    struct flow_aim aim;
    uint8_t scale = steered(s, &aim);
    if (scale == NO_SCALE)
        return (struct flow_view){0};
    struct flow_view view = flow_look(&s->scales[scale].flow, &s->setup->scales[scale].flow, &aim, now);
    view.cue = view.known ? s->scales[scale].flow.cue : CUE_NONE;
    return view;
}

void seq_untell(struct sequence *s, uint8_t but)
{
    for (uint8_t k = 0; FLOW_CUE && k < s->setup->scale_count; k++)
        if (k != but) {
            s->scales[k].flow.cue = CUE_NONE;
            s->scales[k].flow.lower_since = 0;
            s->scales[k].flow.stopped_at = 0;
            settle_told(&s->scales[k].settle, &s->setup->scales[k].settle, 0, 0);
        }
}

static void say_cue(const struct sequence *s, uint8_t scale, enum flow_cue cue, enum flow_cue before,
                    struct effects *fx)
{
    struct effect *e = seq_effect(fx, FX_CUE, cue);
    e->scale = scale;
    e->item = s->current;
    if (cue > before)
        seq_effect(fx, FX_SOUND, cue == CUE_STOP ? SOUND_STOP : SOUND_EASE);
}

void seq_steer(struct sequence *s, uint64_t now, struct effects *fx)
{
    struct flow_aim aim;
    if (!FLOW_CUE)
        return;
    uint8_t scale = steered(s, &aim);
    seq_untell(s, scale);
    if (scale == NO_SCALE)
        return;
    const struct scale_setup *setup = &s->setup->scales[scale];
    struct flow *f = &s->scales[scale].flow;
    enum flow_cue before = (enum flow_cue)f->cue, cue = flow_steer(f, &setup->flow, &aim, now);
    settle_told(&s->scales[scale].settle, &setup->settle, f->stopped_at, f->stopped);
    if (cue != before)
        say_cue(s, scale, cue, before, fx);
}

uint64_t seq_steer_next(const struct sequence *s, uint64_t now)
{
    struct flow_aim aim;
    uint8_t scale = FLOW_CUE ? steered(s, &aim) : NO_SCALE;
    return scale == NO_SCALE ? 0 : flow_next(&s->scales[scale].flow, &s->setup->scales[scale].flow, now);
}
