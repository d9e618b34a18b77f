/* Listen: the loop and the counting. See listen.h. */
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>

#include "drivers/recording.h"
#include "station/inside.h"
#include "station/listen.h"

#define SILENT_END_US 10000000 /* with a count to reach, so long a silence is trouble */

static void keep_raw(struct listen *l, const uint8_t *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (l->raw_len < LISTEN_RAW)
            l->raw[l->raw_len++] = bytes[i];
        else if (l->raw_lost < UINT16_MAX)
            l->raw_lost++;
    }
}

static uint64_t silent_limit(const struct listen *l)
{
    uint32_t ms = l->feeder.line.profile->silent_ms;
    return (uint64_t)(ms ? ms : 2000) * 1000; /* 2 s: a profile file's default too */
}

/* What stands before a good line was begun before we listened, or was dropped as noise: shown, but not as its bytes. */
static void cut_before_line(struct listen *l)
{
    size_t usual = l->feeder.line.decoder.usual;
    if (!usual || usual > l->raw_len || l->raw_lost)
        return;
    size_t before = l->raw_len - usual;
    l->counts.skipped += before;
    memmove(l->raw, l->raw + before, usual);
    l->raw_len = (uint16_t)usual;
}

static void take_reading(struct listen *l, const struct reading *r)
{
    struct listen_counts *c = &l->counts;
    uint64_t before = c->last_at ? c->last_at : l->start;
    uint64_t gap = r->at - before;
    c->readings++;
    c->no_weight += !reading_has_weight(r);
    c->by_state[r->state]++;
    if (c->last_at) {
        c->gaps += gap > silent_limit(l);
        c->longest_gap = gap > c->longest_gap ? gap : c->longest_gap;
    } else {
        c->first_at = r->at;
    }
    c->last_at = r->at;
    l->silent = false;
    cut_before_line(l);
    listen_say_reading(l, r, gap);
}

static bool enough(const struct listen *l)
{
    return l->options.count && l->counts.readings >= l->options.count;
}

/* Whole lines one after another; the raw bytes of each are those that were taken since the one before. */
static void take_bytes(struct listen *l, struct feeder_bytes *b)
{
    enum decode_result what;
    struct reading r;
    l->counts.bytes += b->len;
    do {
        uint16_t from = b->pos;
        what = feeder_take(&l->feeder.line, b, &r);
        keep_raw(l, b->data + from, (size_t)(b->pos - from));
        if (what == DECODE_MORE)
            break;
        if (what == DECODE_READING) {
            take_reading(l, &r);
        } else {
            l->counts.bad += what == DECODE_BAD_LINE;
            l->counts.too_long += what == DECODE_TOO_LONG;
            listen_say_bad(l, what);
        }
        l->raw_len = l->raw_lost = 0;
    } while (!enough(l));
}

/* When silence is to be said, or the end of patience with it; 0 = neither is due any more. */
static uint64_t silence_due(const struct listen *l)
{
    uint64_t since = l->counts.last_at ? l->counts.last_at : l->start;
    if (!l->silent)
        return since + silent_limit(l);
    return l->options.count ? since + silent_limit(l) + SILENT_END_US : 0;
}

static bool silent_too_long(struct listen *l)
{
    uint64_t due = silence_due(l);
    if (!due || l->now < due)
        return false;
    if (l->silent)
        return true;
    l->silent = true;
    listen_say_silent(l, l->now - (l->counts.last_at ? l->counts.last_at : l->start));
    return false;
}

/* Waits for the device or the next moment that matters. Signals come through only here. */
static short wait_for(struct listen *l)
{
    sigset_t none;
    struct pollfd p = {.fd = -1};
    uint64_t wake = feeder_wake(&l->feeder), silence = silence_due(l);
    struct timespec t, *until = NULL;
    feeder_watch(&l->feeder, &p.fd, &p.events);
    if (silence && (!wake || silence < wake))
        wake = silence;
    if (wake) {
        uint64_t left = wake > l->now ? wake - l->now : 0;
        t = (struct timespec){.tv_sec = (time_t)(left / 1000000), .tv_nsec = (long)(left % 1000000) * 1000};
        until = &t;
    }
    sigemptyset(&none);
    return ppoll(&p, 1, until, &none) > 0 ? p.revents : 0;
}

/* A recording's end is no trouble, unless more readings were asked for than it holds. */
static enum listen_end gone(struct listen *l)
{
    const struct driver *driver = driver_for(l->feeder.device);
    if (!driver || strcmp(driver->name, "replay") != 0)
        return LISTEN_TROUBLE;
    if (!l->options.count)
        return LISTEN_PLAYED;
    snprintf(l->feeder.why, DRIVER_WHY, "the recording ended after %u of %u readings; ask for fewer",
             (unsigned)l->counts.readings, (unsigned)l->options.count);
    return LISTEN_TROUBLE;
}

static void tell_counts(struct listen *l)
{
    if (l->now - l->told < LISTEN_TELL_US)
        return;
    l->told = l->now;
    listen_say_counts(l);
}

/* Behind a reading the line is free: also a scale that is asked has just answered. */
static bool send_when_due(struct listen *l)
{
    bool due = l->options.sends && !l->sent && (l->counts.readings || l->silent);
    if (!due)
        return true;
    enum driver_result r = feeder_send(&l->feeder, l->options.send);
    if (r != DRIVER_OK) {
        snprintf(l->feeder.why, DRIVER_WHY, "the %s command could not be sent: %s",
                 listen_command_text(l->options.send),
                 r == DRIVER_WRONG ? "this device takes none" : "the line did not take it");
        return false;
    }
    l->sent = true;
    listen_say_sent(l);
    if (l->options.capture)
        fprintf(l->options.capture, "# at %llu: the %s command was sent\n", (unsigned long long)(l->now - l->start),
                listen_command_text(l->options.send));
    return true;
}

static enum listen_end loop(struct listen *l, const volatile sig_atomic_t *stop)
{
    struct feeder_bytes bytes;
    while (!*stop && !ferror(l->options.out)) {
        short revents = wait_for(l);
        l->now = clock_monotonic_us();
        uint64_t asked = l->feeder.asked;
        enum feeder_event event = feeder_read(&l->feeder, revents, l->now, &bytes);
        l->counts.requests += l->feeder.asked != asked;
        if (event == FEEDER_DOWN)
            return gone(l);
        if (event == FEEDER_BYTES) {
            if (l->options.capture && bytes.len &&
                !recording_write(l->options.capture, l->now - l->start, bytes.data, bytes.len))
                return LISTEN_CAPTURE;
            take_bytes(l, &bytes);
            if (!send_when_due(l))
                return LISTEN_TROUBLE;
            if (enough(l))
                return LISTEN_COUNT;
            tell_counts(l);
        }
        if (silent_too_long(l) || !send_when_due(l))
            return LISTEN_TROUBLE;
    }
    return LISTEN_STOPPED;
}

enum listen_end listen_run(struct listen *l, const struct listen_options *options, const struct profile *profile,
                           const char *device, const volatile sig_atomic_t *stop)
{
    memset(l, 0, sizeof *l);
    l->options = *options;
    l->start = l->now = l->told = clock_monotonic_us();
    if (!feeder_init(&l->feeder, profile, device) || feeder_open(&l->feeder, l->now) != DRIVER_OK)
        return LISTEN_TROUBLE;
    listen_say_hello(l);
    enum listen_end end = loop(l, stop);
    l->now = clock_monotonic_us();
    feeder_close(&l->feeder);
    if (options->capture && end != LISTEN_CAPTURE &&
        (fprintf(options->capture, "%llu end\n", (unsigned long long)(l->now - l->start)) < 0 ||
         fflush(options->capture)))
        end = LISTEN_CAPTURE;
    listen_say_end(l, end);
    return end;
}
