/* Frames: see frames.h. */
#include "plant/frames.h"

#include <string.h>

#define PAST_MS 16
#define WRONG_TURNS 0.15 /* a wrong mark changes its mind at so many of its lines */

const char *mark_text(enum mark_kind kind)
{
    static const char *const texts[MARK_KINDS] = {"honest", "absent", "late", "wrong", "stuck still", "stuck moving"};
    return texts[kind];
}

static void plan_next(struct frames *f)
{
    f->due_ms += f->spec.period_ms;
    f->sends_ms = f->due_ms + f->spec.jitter_ms * random_uniform(&f->random);
}

void frames_init(struct frames *f, const struct frames_spec *spec, uint64_t seed)
{
    memset(f, 0, sizeof *f);
    f->spec = *spec;
    random_seed(&f->random, seed);
    memset(f->past, READING_STABLE, sizeof f->past);
    f->due_ms = -spec->period_ms * random_uniform(&f->random);
    plan_next(f);
}

bool frames_looks(const struct frames *f, uint64_t now_ms)
{
    return now_ms % PAST_MS == 0 || (double)now_ms >= f->sends_ms;
}

static uint8_t marked(struct frames *f, uint64_t now_ms, uint8_t state)
{
    uint64_t ago = (uint64_t)f->spec.late_ms / PAST_MS, slot = now_ms / PAST_MS + FRAMES_PAST;
    switch ((enum mark_kind)f->spec.mark) {
    case MARK_ABSENT:
        return READING_UNKNOWN;
    case MARK_LATE:
        return f->past[(slot - (ago < FRAMES_PAST ? ago : FRAMES_PAST - 1)) % FRAMES_PAST];
    case MARK_WRONG:
        f->wrong ^= random_uniform(&f->random) < WRONG_TURNS;
        return f->wrong ? READING_MOVING : READING_STABLE;
    case MARK_STUCK_STILL:
        return READING_STABLE;
    case MARK_STUCK_MOVING:
        return READING_MOVING;
    default:
        return state;
    }
}

bool frames_step(struct frames *f, uint64_t now_ms, const struct reading *shown, struct reading *out)
{
    if (now_ms % PAST_MS == 0 && reading_has_weight(shown))
        f->past[now_ms / PAST_MS % FRAMES_PAST] = shown->state;
    if ((double)now_ms < f->sends_ms)
        return false;
    plan_next(f);
    if (random_uniform(&f->random) < f->spec.lost)
        return false;
    *out = *shown;
    if (reading_has_weight(shown))
        out->state = marked(f, now_ms, shown->state);
    out->at = now_ms * 1000 + 1;
    out->since = f->last_us ? f->last_us : out->at;
    f->last_us = out->at;
    return true;
}
