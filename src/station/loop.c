/* The live loop: sleep, wake, hand over what came, draw. */
#include <errno.h>
#include <inttypes.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

#include "station/inside.h"

#define SOURCES (CAP_SCALES + 2) /* scales, standard input, signals */
#define LONGEST_SLEEP_US 10000000u

int64_t clock_utc_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static void begin_wake(struct weigher *w)
{
    w->now = clock_monotonic_us();
    w->utc = clock_utc_us();
    w->wake++;
    tape_write(&w->tape, "w %" PRIu64 " %" PRId64, w->now, w->utc);
}

static void tape_bytes(struct weigher *w, uint8_t k, const struct feeder_bytes *bytes)
{
    char head[64];
    if (!w->tape.file)
        return;
    snprintf(head, sizeof head, "b %u %" PRIu64, k, bytes->at);
    if (bytes->len)
        tape_write_hex(&w->tape, head, bytes->data, bytes->len);
    else
        tape_write(&w->tape, "%s -", head);
}

static void take_bytes(struct weigher *w, uint8_t k, struct feeder_bytes *bytes)
{
    tape_bytes(w, k, bytes);
    act_bytes(w, k, bytes);
}

static void serve_scale(struct weigher *w, uint8_t k, short revents)
{
    struct feeder_bytes bytes;
    switch (feeder_read(&w->feeders[k], revents, w->now, &bytes)) {
    case FEEDER_BYTES:
        take_bytes(w, k, &bytes);
        break;
    case FEEDER_UP:
        tape_write(&w->tape, "u %u", k);
        break;
    case FEEDER_DOWN:
        tape_write(&w->tape, "d %u", k);
        act_link(w, k, LINK_UNPLUGGED);
        break;
    case FEEDER_TAKEN:
        tape_write(&w->tape, "o %u", k);
        act_link(w, k, LINK_TAKEN);
        break;
    case FEEDER_UNUSABLE:
        tape_write(&w->tape, "x %u", k);
        act_link(w, k, LINK_UNUSABLE);
        break;
    case FEEDER_NOTHING:
        break;
    }
}

static void leave(struct weigher *w)
{
    tape_write(&w->tape, "z");
    act_leave(w);
}

static void serve_answers(struct weigher *w)
{
    char line[ANSWER_LINE];
    bool ended = false;
    while (!w->ended && screen_answer(&w->screen, &w->view, w->now, line, &ended)) {
        act_line(w, line);
        if (!w->ended)
            view_build(w); /* the next key is judged by the prompt that this one opened */
    }
    if (ended && !w->ended)
        leave(w);
}

static void serve_signal(struct weigher *w)
{
    struct signalfd_siginfo info;
    if (read(w->signals, &info, sizeof info) == (ssize_t)sizeof info)
        leave(w);
}

static void sooner(uint64_t *next, uint64_t at)
{
    if (at && (*next == 0 || at < *next))
        *next = at;
}

/* How long to sleep, to the microsecond: the rest of a line is slept for, and a millisecond too many would be seen. NULL:
 * until something comes. */
static const struct timespec *sleep_time(const struct weigher *w, struct timespec *out)
{
    uint64_t now = clock_monotonic_us(), next = sequence_next(&w->seq, w->now);
    for (uint8_t k = 0; k < w->setup.scale_count; k++)
        sooner(&next, feeder_wake(&w->feeders[k]));
    sooner(&next, screen_wake(&w->screen));
    if (next == 0 && w->screen.kind != SCREEN_FULL)
        return NULL;
    uint64_t us = next == 0 ? LONGEST_SLEEP_US : next > now ? next - now : 0; /* the full screen has a clock */
    if (us > LONGEST_SLEEP_US)
        us = LONGEST_SLEEP_US;
    *out = (struct timespec){.tv_sec = (time_t)(us / 1000000u), .tv_nsec = (long)(us % 1000000u) * 1000};
    return out;
}

static void watch(struct weigher *w, struct pollfd *p)
{
    for (uint8_t k = 0; k < w->setup.scale_count; k++) {
        p[k].revents = 0;
        feeder_watch(&w->feeders[k], &p[k].fd, &p[k].events);
    }
    p[CAP_SCALES] = (struct pollfd){.fd = w->screen.in, .events = POLLIN};
    p[CAP_SCALES + 1] = (struct pollfd){.fd = w->signals, .events = POLLIN};
    for (uint8_t k = w->setup.scale_count; k < CAP_SCALES; k++)
        p[k] = (struct pollfd){.fd = -1};
}

/* JSON lines need no view: their client keeps its own. */
static void draw(struct weigher *w)
{
    if (w->screen.kind == SCREEN_JSON || w->ended)
        return;
    view_build(w);
    screen_draw(&w->screen, &w->view);
}

static void one_wake(struct weigher *w)
{
    struct pollfd p[SOURCES];
    struct timespec time;
    watch(w, p);
    int n = ppoll(p, SOURCES, sleep_time(w, &time), NULL);
    bool resized = n < 0 && errno == EINTR;
    if (n <= 0) /* after an error ppoll leaves revents as it found them */
        for (unsigned k = 0; k < SOURCES; k++)
            p[k].revents = 0;
    /* One time for all that follows, and the scales first: an answer is judged by the newest weight there is. */
    begin_wake(w);
    for (uint8_t k = 0; k < w->setup.scale_count && !w->ended; k++)
        serve_scale(w, k, p[k].revents);
    if (!w->ended && p[CAP_SCALES + 1].revents)
        serve_signal(w);
    if (!w->ended && (p[CAP_SCALES].revents || resized || screen_wake(&w->screen)))
        serve_answers(w);
    if (!w->ended && w->reader_gone)
        leave(w);
    if (!w->ended) {
        tape_write(&w->tape, "t");
        act_tick(w);
    }
    draw(w);
}

/* Signals come as bytes on a descriptor, so that nothing is interrupted half-way. */
static void take_signals(struct weigher *w)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGHUP);
    sigaddset(&set, SIGQUIT); /* it would leave the terminal as the full screen has it */
    sigprocmask(SIG_BLOCK, &set, NULL);
    signal(SIGPIPE, SIG_IGN);
    w->signals = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
}

int loop_run(struct weigher *w)
{
    take_signals(w);
    begin_wake(w);
    act_begin(w);
    draw(w);
    while (!w->ended)
        one_wake(w);
    close(w->signals);
    return w->exit_code;
}
