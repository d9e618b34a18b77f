/* Feeder: see feeder.h. */
#include <stdio.h>
#include <string.h>

#include "drivers/numbered.h"
#include "station/feeder.h"

#define ASK_LEAST_US 10000 /* whatever the profile says: no line is asked more often than this */

void feeder_line_reset(struct feeder_line *l, const struct profile *profile, uint64_t now)
{
    l->profile = profile;
    l->drained = now;
    l->whole = 0;
    decoder_reset(&l->decoder);
}

enum decode_result feeder_take(struct feeder_line *l, struct feeder_bytes *b, struct reading *out)
{
    while (b->pos < b->len) {
        enum decode_result r = decode_byte(l->profile, &l->decoder, b->data[b->pos++], b->at, l->drained, out);
        if (r != DECODE_MORE) {
            l->whole++;
            return r;
        }
    }
    if (b->len < FEEDER_READ)
        l->drained = b->at; /* after a full read more may lie there, as old as the oldest of it */
    return DECODE_MORE;
}

bool feeder_init(struct feeder *f, const struct profile *profile, const char *device)
{
    size_t n = strlen(device);
    memset(f, 0, sizeof *f);
    f->port.fd = -1;
    feeder_line_reset(&f->line, profile, 0);
    if (n >= FEEDER_DEVICE) {
        snprintf(f->why, DRIVER_WHY, "the device text is longer than %d bytes: give a shorter path, or a link to it",
                 FEEDER_DEVICE - 1);
        return false;
    }
    memcpy(f->device, device, n + 1);
    return true;
}

enum driver_result feeder_open(struct feeder *f, uint64_t now)
{
    bool doubt = f->wary && numbered_in_doubt(f->device, f->why);
    enum driver_result r = doubt ? DRIVER_WRONG : port_open(&f->port, f->device, f->line.profile, f->why);
    f->up = r == DRIVER_OK;
    f->retry = now + FEEDER_RETRY_US;
    f->asked = 0;
    f->last_len = 0;
    if (f->up) {
        f->why[0] = '\0';
        feeder_line_reset(&f->line, f->line.profile, now);
    }
    return r;
}

void feeder_close(struct feeder *f)
{
    port_close(&f->port);
    f->up = false;
}

/* Until when the rest of the begun line is on its way; 0 if that can't be told or the port may hold more. A line that
 * stopped short (the newest read brought nothing) is waited for with poll again. */
static uint64_t resting(const struct feeder *f)
{
    uint64_t missing = decode_missing(&f->line.decoder);
    if (!missing || !f->last_len || f->last_len == FEEDER_READ)
        return 0;
    return f->last_at + missing * f->port.byte_us + FEEDER_MARGIN_US;
}

static bool polled(const struct feeder *f)
{
    return f->line.profile->sends == SENDS_POLLED && f->port.driver->send;
}

/* When to ask: a period after the last request if it was answered, else when its answer is overdue. */
static uint64_t ask_time(const struct feeder *f)
{
    const struct profile *p = f->line.profile;
    if (!f->asked)
        return 1; /* at once: 0 would mean never */
    bool answered = f->line.whole != f->asked_whole;
    uint64_t after = (uint64_t)(answered ? p->period_ms : p->timeout_ms) * 1000;
    return f->asked + (after > ASK_LEAST_US ? after : ASK_LEAST_US);
}

static uint64_t sooner(uint64_t a, uint64_t b)
{
    return a && (!b || a < b) ? a : b;
}

void feeder_watch(const struct feeder *f, int *fd, short *events)
{
    *fd = -1;
    *events = 0;
    if (!f->up)
        return;
    f->port.driver->watch(&f->port, fd, events);
    if (resting(f))
        *events = 0; /* what is on its way is slept for, or every byte would wake the station */
}

uint64_t feeder_wake(const struct feeder *f)
{
    if (!f->up)
        return f->retry;
    uint64_t wake = resting(f);
    if (f->port.driver->wake)
        wake = sooner(wake, f->port.driver->wake(&f->port));
    return polled(f) ? sooner(wake, ask_time(f)) : wake;
}

static enum feeder_event went_down(struct feeder *f, int result, uint64_t now)
{
    if (result == DRIVER_GONE)
        snprintf(f->why, DRIVER_WHY, "%.100s is gone: unplugged, or closed at the other end; plug it in again",
                 f->device);
    else
        snprintf(f->why, DRIVER_WHY, "%.100s can no longer be read: unplug it and plug it in again", f->device);
    feeder_close(f);
    f->retry = now + FEEDER_RETRY_US;
    return FEEDER_DOWN;
}

/* A request that the line did not take whole (DRIVER_SYSTEM) counts as one that is not answered. */
static enum driver_result ask(struct feeder *f, uint64_t now)
{
    const struct profile_command *request = &f->line.profile->request;
    enum driver_result r = f->port.driver->send(&f->port, request->bytes, request->len);
    f->asked = now ? now : 1;
    f->asked_whole = f->line.whole;
    return r == DRIVER_GONE ? r : DRIVER_OK;
}

enum { TROUBLE_GONE, TROUBLE_TAKEN, TROUBLE_OTHER };

/* Why a device can't be opened again, as a number: from TROUBLE_OTHER on it stands for the sentence. */
static uint32_t trouble_of(enum driver_result r, const char *why)
{
    uint32_t h = 2166136261u;
    if (r == DRIVER_MISSING || r == DRIVER_GONE)
        return TROUBLE_GONE;
    if (r == DRIVER_BUSY)
        return TROUBLE_TAKEN;
    for (; *why; why++)
        h = (h ^ (unsigned char)*why) * 16777619u;
    return h < TROUBLE_OTHER ? TROUBLE_OTHER : h;
}

/* Each trouble is told once, however long it lasts, and another reason only when two tries have met it: the system gives a new
 * port its owner and its rights a moment after its name. */
static enum feeder_event not_opened(struct feeder *f, enum driver_result r)
{
    uint32_t what = trouble_of(r, f->why), before = f->why_not;
    f->why_not = what;
    if (what == f->told || (what >= TROUBLE_OTHER && what != before))
        return FEEDER_NOTHING;
    f->told = what;
    return what == TROUBLE_GONE ? FEEDER_DOWN : what == TROUBLE_TAKEN ? FEEDER_TAKEN : FEEDER_UNUSABLE;
}

static enum feeder_event try_again(struct feeder *f, uint64_t now)
{
    enum driver_result r = feeder_open(f, now);
    if (r != DRIVER_OK)
        return not_opened(f, r);
    f->told = f->why_not = TROUBLE_GONE;
    return FEEDER_UP;
}

enum feeder_event feeder_read(struct feeder *f, short revents, uint64_t now, struct feeder_bytes *out)
{
    uint64_t wake = feeder_wake(f);
    bool due = wake && wake <= now;
    if (!due && !revents)
        return FEEDER_NOTHING;
    if (!f->up)
        return due ? try_again(f, now) : FEEDER_NOTHING;
    /* Reads before it asks: what is there already answers the request before. */
    int n = f->port.driver->feed(&f->port, out->data, FEEDER_READ, now);
    if (n < 0)
        return went_down(f, n, now);
    out->at = f->last_at = now;
    out->len = f->last_len = (uint16_t)n;
    out->pos = 0;
    if (polled(f) && ask_time(f) <= now && ask(f, now) != DRIVER_OK)
        return went_down(f, DRIVER_GONE, now);
    return FEEDER_BYTES;
}

const struct profile_command *feeder_command(const struct profile *p, enum feeder_command which)
{
    return which == FEEDER_TARE ? &p->tare : which == FEEDER_ZERO ? &p->zero : &p->units;
}

enum driver_result feeder_send(struct feeder *f, enum feeder_command which)
{
    const struct profile_command *c = feeder_command(f->line.profile, which);
    if (!f->up)
        return DRIVER_MISSING;
    if (!c->len || !f->port.driver->send)
        return DRIVER_WRONG;
    return f->port.driver->send(&f->port, c->bytes, c->len);
}
