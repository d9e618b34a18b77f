#include "core/agree.h"

bool agree_counts(const struct profile *p)
{
    return p->sends == SENDS_SETTLED || p->sends == SENDS_KEY;
}

static bool agrees(const struct agree *a, const struct reading *r)
{
    return a->first_at > 0 && r->at >= a->first_at && r->at - a->first_at <= AGREE_WITHIN_US && r->mass == a->first;
}

/* A line that moves, or is no weight, between two equal ones parts them: they are then no proof of rest. */
void agree_feed(struct agree *a, mass_pg division, const struct reading *r)
{
    if (!reading_has_weight(r) || r->state == READING_MOVING || division <= 0) {
        *a = (struct agree){0};
        return;
    }
    if (!agrees(a, r))
        *a = (struct agree){.first = r->mass, .first_at = r->at};
    else if (r->at - a->first_at >= AGREE_APART_US)
        a->two = true;
}

enum settle_state agree_judge(const struct agree *a, const struct reading *newest, uint64_t now, mass_pg *mass)
{
    if (newest->at == 0)
        return SETTLE_SILENT;
    if (!reading_has_weight(newest))
        return SETTLE_NOWEIGHT;
    if (!a->two || now < newest->at || now - newest->at > AGREE_FRESH_US)
        return SETTLE_MOVING;
    *mass = newest->mass;
    return SETTLE_SETTLED;
}

/* Such a scale may stay mute while its weight grows stale, so only the clock can wake the station for it. */
uint64_t agree_next(const struct agree *a, const struct reading *newest, uint64_t now)
{
    uint64_t stale = newest->at + AGREE_FRESH_US + 1;

    return a->two && stale > now ? stale : 0;
}
