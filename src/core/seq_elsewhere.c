/* Elsewhere: what is put on a platform that nobody asked to put anything on. */
#include "core/seq_internal.h"

/* A rise of fewer divisions may be a draught or drift. */
#define RISE_DIVISIONS 5

/* The prompt wants something put on a platform. */
static bool wants_load(const struct sequence *s)
{
    return s->phase == PHASE_CONTAINER || s->phase == PHASE_FILL || s->phase == PHASE_UNDER;
}

/* It was put into a container that was accepted: that is said as `changed`. */
static bool on_accepted(const struct sequence *s, uint8_t scale, mass_pg gross)
{
    const struct scale_state *sc = &s->scales[scale];
    const struct item *held = sequence_item(s, sc->holds);
    mass_pg before = 0;
    return held && held->status == ITEM_WEIGHED && !sub64(gross, sc->changed, &before) &&
           seq_near(s, scale, before, held->gross, RISE_DIVISIONS);
}

void seq_watch_elsewhere(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    const struct scale_state *sc = &s->scales[scale];
    const struct scale_setup *setup = &s->setup->scales[scale];
    const struct item *it = seq_current(s);
    mass_pg rise = 0, least = RISE_DIVISIONS * setup->division;
    if (least < setup->min_load)
        least = setup->min_load;
    if (!it || it->scale == scale || it->scale >= s->setup->scale_count || s->typed || !wants_load(s) || !sc->known ||
        on_accepted(s, scale, gross) || sub64(gross, sc->last_gross, &rise) || rise < least)
        return;
    seq_notice(fx, NOTICE_ELSEWHERE, scale, s->current)->mass = rise;
    seq_effect(fx, FX_SOUND, SOUND_WRONG);
}
