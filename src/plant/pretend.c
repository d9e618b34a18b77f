/* Pretend: the simulated scale in real time: it runs the plant up to now, speaks on the wire and takes verbs. */
#include "plant/pretend.h"

#include <errno.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

#include "plant/act.h"
#include "plant/encode.h"

#define ANSWER_US 5000     /* a polled indicator thinks for so long */
#define LOOK_US 50000      /* how often an unopened line is looked at */
#define REST_LOOK_US 50000 /* how often a kept print key looks for rest */
#define RETRY_US 1000000   /* a given tty that hung up is tried again */
#define GROUP_US 1000      /* bytes that end within this of each other leave together */

static uint64_t clock_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000 + (uint64_t)t.tv_nsec / 1000;
}

/* The three longest figures it may come to show: zero, full, and one division below nothing. */
bool pretend_fits(const struct profile *p, const struct plant_spec *spec, char why[WIRE_WHY])
{
    char line[PROFILE_LINE_MAX];
    struct plant plant;
    struct reading r;
    plant_init(&plant, spec, 0);
    plant_show(&plant, &r);
    const mass_pg shown[] = {0, spec->indicator.capacity, -plant.indicator.step};
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++) {
        char text[MASS_TEXT_MAX];
        r.mass = shown[i] / plant.indicator.step * plant.indicator.step;
        if (encode_line(p, &r, line))
            continue;
        mass_format_unit(r.mass, (enum mass_unit)r.unit, r.places, text, sizeof text);
        snprintf(why, WIRE_WHY, "a line of profile %s has no room for %s; give another --capacity or --division",
                 p->name, text);
        return false;
    }
    return true;
}

/* It says nothing of a weight that moves; a print key pressed meanwhile is kept. */
static bool waits_for_rest(struct pretend *s)
{
    if (s->profile->sends == SENDS_KEY)
        s->line_due_us = s->now_us + REST_LOOK_US;
    return s->profile->sends == SENDS_KEY || s->profile->sends == SENDS_SETTLED;
}

/* The figure of another unit where the line has no word for it: a display that was switched, a line that was not. */
static void misread(const struct pretend *s, struct reading *r)
{
    if (s->figures == UNIT_NONE || !reading_has_weight(r))
        return;
    double ratio = (double)unit_pg((enum mass_unit)r->unit) / (double)unit_pg((enum mass_unit)s->figures);
    r->mass = (mass_pg)nearbyint((double)r->mass * ratio / (double)r->step) * r->step;
}

/* Sends the line for what is shown now, if the wire is free: an indicator that is still sending skips one. */
static void send_line(struct pretend *s)
{
    char line[PROFILE_LINE_MAX];
    struct reading r;
    if (!wire_idle(&s->wire) || s->now_us < s->silent_until_us)
        return;
    plant_show(&s->plant, &r);
    if (s->now_us < s->fault_until_us)
        r.state = READING_FAULT;
    if (r.state == READING_MOVING && waits_for_rest(s))
        return;
    misread(s, &r);
    uint8_t n = encode_line(s->profile, &r, line);
    if (n)
        wire_send(&s->wire, line, n, s->now_us);
}

/* By its reader, or by a hand at its key. */
static bool asked_for(const struct profile *p)
{
    return p->sends == SENDS_POLLED || p->sends == SENDS_KEY;
}

static void send_when_due(struct pretend *s)
{
    if (s->now_us < s->line_due_us)
        return;
    if (asked_for(s->profile)) {
        s->line_due_us = UINT64_MAX;
    } else {
        uint64_t period = (uint64_t)s->profile->period_ms * 1000;
        s->line_due_us += period;
        if (s->line_due_us <= s->now_us) /* stopped for a while: no burst of old lines */
            s->line_due_us = s->now_us + period;
    }
    send_line(s);
}

/* True if what was heard ends with the command. */
static bool heard_command(const struct pretend *s, const struct profile_command *c)
{
    return c->len && c->len <= s->heard_len && !memcmp(s->heard + s->heard_len - c->len, c->bytes, c->len);
}

/* Bytes slide through a short memory: a command is heard wherever it ends, and noise before it does no harm. */
/* The next one that its lines can name. */
static void next_unit(struct pretend *s)
{
    struct indicator *i = &s->plant.indicator;
    unsigned unit = i->unit;
    do
        unit = unit % UNIT_GR + 1;
    while (unit != i->unit && !encode_has_unit(s->profile, (enum mass_unit)unit));
    indicator_unit(i, (enum mass_unit)unit);
}

static void hear(struct pretend *s, char byte)
{
    if (s->heard_len == sizeof s->heard)
        memmove(s->heard, s->heard + 1, --s->heard_len);
    s->heard[s->heard_len++] = byte;
    bool any = true;
    if (heard_command(s, &s->profile->tare))
        indicator_tare(&s->plant.indicator);
    else if (heard_command(s, &s->profile->zero))
        indicator_zero(&s->plant.indicator);
    else if (heard_command(s, &s->profile->units))
        next_unit(s);
    else if (s->profile->sends == SENDS_POLLED && heard_command(s, &s->profile->request))
        s->line_due_us = s->now_us + ANSWER_US;
    else
        any = false;
    if (any)
        s->heard_len = 0;
}

static void listen_to_reader(struct pretend *s)
{
    char buf[256];
    int n = wire_read(&s->wire, buf, sizeof buf);
    if (n < 0) {
        wire_unplug(&s->wire);
        s->retry_us = s->now_us + RETRY_US;
    }
    for (int i = 0; i < n; i++)
        hear(s, buf[i]);
}

static void retry_tty(struct pretend *s)
{
    char why[WIRE_WHY];
    if (s->wire.fd >= 0 || s->now_us < s->retry_us)
        return;
    s->retry_us = wire_plug(&s->wire, s->profile, why) ? UINT64_MAX : s->now_us + RETRY_US;
}

/* The time up to which nothing happens by itself. */
static uint64_t next_wake(const struct pretend *s)
{
    uint64_t next = s->now_us + 1000000, due = wire_due(&s->wire);
    if (due != UINT64_MAX && due < s->now_us + GROUP_US)
        due = s->now_us + GROUP_US;
    const uint64_t times[] = {due, s->wire.fd >= 0 ? s->line_due_us : UINT64_MAX, act_wake(s), s->retry_us};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        if (times[i] < next)
            next = times[i];
    if (s->wire.fd >= 0 && !s->wire.reader && next > s->now_us + LOOK_US)
        next = s->now_us + LOOK_US;
    return next;
}

/* Sleeps until something is to be done; false after a signal that ends it. */
static bool wait_for_work(struct pretend *s)
{
    uint64_t wake = next_wake(s), now = clock_us(), sleep_us = wake > now ? wake - now : 0;
    struct timespec limit = {(time_t)(sleep_us / 1000000), (long)(sleep_us % 1000000) * 1000};
    struct pollfd f[3] = {
        {.fd = s->signals, .events = POLLIN},
        {.fd = source_wants(&s->live) ? s->live.fd : -1, .events = POLLIN},
        {.fd = s->wire.reader ? s->wire.fd : -1, .events = POLLIN},
    };
    int ready = ppoll(f, 3, &limit, NULL);
    s->now_us = clock_us();
    if (ready <= 0)
        return ready == 0 || errno == EINTR;
    if (f[1].revents)
        source_fill(&s->live);
    if (f[2].revents)
        listen_to_reader(s);
    return !f[0].revents;
}

/* The simulation lags behind the clock by less than a step; after a long stop it is run through, not skipped. */
static void catch_up(struct pretend *s)
{
    uint64_t ms = (s->now_us - s->begun_us) / 1000;
    if (ms > s->plant.now_ms)
        plant_run(&s->plant, ms - s->plant.now_ms);
}

static void loop(struct pretend *s)
{
    do {
        catch_up(s);
        wire_look(&s->wire);
        act_on_verbs(s);
        send_when_due(s);
        wire_pump(&s->wire, s->now_us);
        retry_tty(s);
    } while (!s->quit && wait_for_work(s));
}

static int take_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGHUP);
    signal(SIGPIPE, SIG_IGN);
    signal(SIGTTIN, SIG_IGN); /* in the background of a terminal: its input has ended */
    if (sigprocmask(SIG_BLOCK, &set, NULL))
        return -1;
    return signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
}

static void begin(struct pretend *s, const struct pretend_spec *spec)
{
    memset(s, 0, sizeof *s);
    s->profile = spec->profile;
    s->ends = spec->ends;
    s->begun_us = s->now_us = clock_us();
    s->retry_us = UINT64_MAX;
    s->line_due_us = asked_for(s->profile) ? UINT64_MAX : s->now_us;
    random_seed(&s->random, spec->seed ^ UINT64_C(0x6761726261676500)); /* another row than the plant's noise */
    plant_init(&s->plant, &spec->plant, spec->seed);
    wire_init(&s->wire, s->profile, spec->on, spec->link);
    source_live(&s->live, STDIN_FILENO);
    source_script(&s->script, spec->script ? spec->script : "", spec->script_name);
}

enum pretend_result pretend_run(const struct pretend_spec *spec, char why[WIRE_WHY])
{
    struct pretend s;
    begin(&s, spec);
    s.signals = take_signals();
    if (s.signals < 0) {
        snprintf(why, WIRE_WHY, "signalfd: %s", strerror(errno));
        return PRETEND_SYSTEM;
    }
    if (!wire_plug(&s.wire, s.profile, why)) {
        close(s.signals);
        return PRETEND_NO_WIRE;
    }
    printf("%s\n", s.wire.path);
    fflush(stdout);
    loop(&s);
    wire_unplug(&s.wire);
    close(s.signals);
    return PRETEND_DONE;
}
