/* Line: how what a scale sends arrives: not at all, with holes, or as noise. */
#include "core/seq_internal.h"

/* With holes for so long, and never a second without one: no weight can settle. */
#define HOLED_US 5000000
#define UNBROKEN_US 1000000

/* Bytes have come of late. */
static bool noisy(const struct sequence *s, uint8_t scale, uint64_t now)
{
    const struct scale_state *sc = &s->scales[scale];
    return sc->noise_since && now - sc->noise_at <= seq_silent_us(&s->setup->scales[scale].settle) / 2;
}

/* After an unplug or a silence noise is said only when it lasts: the first line of all may lack its front. A scale that sends
 * only when it wants to is never silent: there it is said when it comes again. */
static void heard_noise(struct sequence *s, uint8_t scale, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    bool again = noisy(s, scale, now), agreeing = s->setup->scales[scale].agreeing;
    if (!again)
        sc->noise_since = now;
    sc->noise_at = now;
    bool lasts = now - sc->noise_since > seq_silent_us(&s->setup->scales[scale].settle);
    if (sc->said_garbled || (agreeing ? !again : sc->link <= LINK_UP || !lasts))
        return;
    sc->said_garbled = true;
    seq_notice(fx, NOTICE_GARBLED, scale, s->current);
}

/* Nothing of before may settle, or be followed, together with what comes after. */
static void unplugged(struct sequence *s, uint8_t scale, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (sc->link == LINK_UNPLUGGED)
        return;
    sc->doubt = true;
    sc->link = LINK_UNPLUGGED;
    sc->noise_since = sc->holed_since = 0;
    sc->said_garbled = sc->said_seldom = false;
    settle_reset(&sc->settle);
    flow_reset(&sc->flow);
    sc->agree = (struct agree){0};
    seq_notice(fx, NOTICE_UNPLUGGED, scale, s->current);
}

/* Plugged in again, yet not to be had. */
static void not_ours(struct sequence *s, const struct event *ev, struct effects *fx)
{
    struct scale_state *sc = &s->scales[ev->scale];
    if (sc->link < LINK_UNPLUGGED)
        return; /* it was never said to be gone */
    sc->link = ev->link;
    seq_notice(fx, ev->link == LINK_TAKEN ? NOTICE_BUSY : NOTICE_UNUSABLE, ev->scale, s->current);
}

void seq_link(struct sequence *s, const struct event *ev, struct effects *fx)
{
    if (ev->link == LINK_UNPLUGGED)
        unplugged(s, ev->scale, fx);
    else if (ev->link == LINK_NOISE)
        heard_noise(s, ev->scale, ev->at, fx);
    else if (ev->link == LINK_TAKEN || ev->link == LINK_UNUSABLE)
        not_ours(s, ev, fx);
}

void seq_watch_links(struct sequence *s, uint64_t now, struct effects *fx)
{
    for (uint8_t k = 0; k < s->setup->scale_count; k++) {
        struct scale_state *sc = &s->scales[k];
        uint64_t since = sc->link == LINK_WAITING ? s->begun_at : sc->settle.newest.at;
        if (sc->link > LINK_UP || now < since || now - since <= seq_silent_us(&s->setup->scales[k].settle))
            continue;
        sc->doubt = true; /* also one that never spoke: nobody knows what stands on it */
        sc->link = LINK_SILENT;
        sc->holed_since = 0;
        sc->said_garbled = noisy(s, k, now);
        seq_notice(fx, sc->said_garbled ? NOTICE_GARBLED : NOTICE_SILENT, k, s->current);
    }
}

void seq_watch_holes(struct sequence *s, uint8_t scale, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    uint64_t begun = sc->settle.begun, now = sc->settle.newest.at;
    if (!begun)
        return;
    if (now - begun >= UNBROKEN_US) {
        sc->holed_since = 0;
        sc->said_seldom = false;
    } else if (!sc->holed_since) {
        sc->holed_since = begun;
    } else if (begun == now && now - sc->holed_since >= HOLED_US && !sc->said_seldom) {
        sc->said_seldom = true;
        seq_notice(fx, NOTICE_SELDOM, scale, s->current);
    }
}
