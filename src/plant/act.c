/* Act: see act.h. Verbs meet the simulation here; what a line of verbs says is verb.c's. */
#include "plant/act.h"

#include <poll.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "plant/encode.h"

#define ANSWER_MAX 320
#define BUMP_MS 60       /* a knock against the bench: common practice, no source */
#define SETTLE_MOST_S 10 /* wait-settled gives up after this */
#define SETTLE_LOOK_US 10000
#define FOREVER_US (UINT64_MAX / 2)

/* Writes a line unless its reader is not reading: the simulation never waits for it. */
static void say(int fd, const char *line, size_t n)
{
    struct pollfd f = {.fd = fd, .events = POLLOUT};
    if (poll(&f, 1, 0) == 1 && (f.revents & POLLOUT) && write(fd, line, n) < 0)
        return;
}

__attribute__((format(printf, 3, 4))) static void answer(const struct source *from, bool fine, const char *format, ...)
{
    char line[ANSWER_MAX];
    va_list args;
    int n = 0;
    if (from->text && !fine)
        n = snprintf(line, sizeof line, "%.100s:%u: ", from->name, from->line);
    n += snprintf(line + n, sizeof line - (size_t)n, "%s", fine ? "ok " : "error: ");
    va_start(args, format);
    n += vsnprintf(line + n, sizeof line - (size_t)n - 1, format, args);
    va_end(args);
    if (n > ANSWER_MAX - 2)
        n = ANSWER_MAX - 2;
    line[n++] = '\n';
    say(from->text && !fine ? STDERR_FILENO : STDOUT_FILENO, line, (size_t)n);
}

/* "ok" alone: nobody reads that of a script. */
static void done(const struct source *from)
{
    if (!from->text)
        say(STDOUT_FILENO, "ok\n", 3);
}

static const char *state_words(const struct reading *r)
{
    switch (r->state) {
    case READING_STABLE:
        return "stable";
    case READING_MOVING:
        return "moving";
    case READING_OVER:
        return "over capacity";
    case READING_UNDER:
        return "under zero";
    default:
        return "starting";
    }
}

static void show(const struct pretend *s, const struct source *from)
{
    char truth[MASS_TEXT_MAX], shown[MASS_TEXT_MAX] = "nothing";
    struct reading r;
    plant_show(&s->plant, &r);
    mass_format_unit(plant_truth(&s->plant), UNIT_G, -1, truth, sizeof truth);
    if (reading_has_weight(&r))
        mass_format_unit(r.mass, (enum mass_unit)r.unit, r.places, shown, sizeof shown);
    answer(from, true, "true %s, shown %s %s, %s", truth, shown, r.basis == BASIS_NET ? "net" : "gross",
           state_words(&r));
}

static void not_there(const struct pretend *s, const struct source *from)
{
    char truth[MASS_TEXT_MAX];
    mass_format_unit(plant_truth(&s->plant), UNIT_G, -1, truth, sizeof truth);
    answer(from, false, "the platform holds %s: less than that can't be left and more than 9,223 kg can't be held",
           truth);
}

static void move_mass(struct pretend *s, const struct verb *v, const struct source *from)
{
    bool off = v->kind == VERB_TAKE;
    mass_pg mass = off ? -v->mass : v->mass;
    if (v->flow ? platform_pour(&s->plant.platform, mass, v->flow) : plant_move(&s->plant, mass))
        done(from);
    else
        not_there(s, from);
}

static void plug(struct pretend *s, const struct source *from)
{
    char why[WIRE_WHY];
    if (s->wire.fd >= 0)
        answer(from, false, "it is plugged in already");
    else if (wire_plug(&s->wire, s->profile, why))
        answer(from, true, "%s", s->wire.path);
    else
        answer(from, false, "%s", why);
}

static void send_garbage(struct pretend *s, const struct verb *v, const struct source *from)
{
    char bytes[1000];
    for (uint32_t i = 0; i < v->count; i++)
        bytes[i] = (char)(random_bits(&s->random) >> 56);
    if (wire_send(&s->wire, bytes, v->count, s->now_us))
        done(from);
    else
        answer(from, false, "no room: unplugged, or the last garbage is still going out");
}

static void change_unit(struct pretend *s, const struct verb *v, const struct source *from)
{
    char line[PROFILE_LINE_MAX];
    struct indicator tried = s->plant.indicator;
    struct reading r;
    indicator_unit(&tried, (enum mass_unit)v->unit);
    indicator_show(&tried, &r);
    if (!encode_has_unit(s->profile, (enum mass_unit)v->unit) ||
        (reading_has_weight(&r) && !encode_line(s->profile, &r, line)))
        answer(from, false, "profile %s can't say %s", s->profile->name, unit_text((enum mass_unit)v->unit));
    else {
        s->plant.indicator = tried;
        done(from);
    }
}

static void press_print(struct pretend *s, const struct source *from)
{
    if (s->profile->sends != SENDS_KEY) {
        answer(from, false, "profile %s has no print key: it sends without", s->profile->name);
        return;
    }
    s->line_due_us = s->now_us;
    done(from);
}

static void begin_wait(struct pretend *s, const struct verb *v, struct source *from)
{
    double seconds = v->seconds < 0 ? SETTLE_MOST_S : v->seconds;
    from->settling = v->kind == VERB_WAIT_SETTLED;
    from->wait_until_us = s->now_us + (uint64_t)(seconds * 1e6) + 1; /* 0 means no wait: never 0, even for 0 seconds */
}

static uint64_t lasts_until(const struct pretend *s, const struct verb *v)
{
    return v->seconds < 0 ? FOREVER_US : s->now_us + (uint64_t)(v->seconds * 1e6);
}

/* The verbs that always succeed; the last of them is quit. */
static void simple_verb(struct pretend *s, const struct verb *v)
{
    struct platform *p = &s->plant.platform;
    switch (v->kind) {
    case VERB_STOP:
        platform_stop(p);
        break;
    case VERB_CLEAR:
        plant_clear(&s->plant);
        break;
    case VERB_BUMP:
        platform_bump(p, v->mass, BUMP_MS);
        break;
    case VERB_VIBRATE:
        platform_shake(p, v->mass, v->hz, v->seconds);
        break;
    case VERB_SILENT:
        s->silent_until_us = lasts_until(s, v);
        break;
    case VERB_FAULT:
        s->fault_until_us = lasts_until(s, v);
        break;
    case VERB_UNPLUG:
        wire_unplug(&s->wire);
        s->retry_us = UINT64_MAX; /* pulled on purpose: stays out */
        break;
    case VERB_RESTART:
        indicator_restart(&s->plant.indicator);
        break;
    case VERB_TARE:
        indicator_tare(&s->plant.indicator);
        break;
    case VERB_ZERO:
        indicator_zero(&s->plant.indicator);
        break;
    default:
        s->quit = true;
        break;
    }
}

static void carry_out(struct pretend *s, const struct verb *v, struct source *from)
{
    switch (v->kind) {
    case VERB_NOTHING:
        break;
    case VERB_PUT:
    case VERB_POUR:
    case VERB_TAKE:
        move_mass(s, v, from);
        break;
    case VERB_GARBAGE:
        send_garbage(s, v, from);
        break;
    case VERB_PLUG:
        plug(s, from);
        break;
    case VERB_PRINT:
        press_print(s, from);
        break;
    case VERB_UNIT:
        change_unit(s, v, from);
        break;
    case VERB_FIGURES:
        s->figures = v->unit;
        done(from);
        break;
    case VERB_WAIT:
    case VERB_WAIT_SETTLED:
        begin_wait(s, v, from);
        break;
    case VERB_SHOW:
        show(s, from);
        break;
    default:
        simple_verb(s, v);
        done(from);
        break;
    }
}

/* True while the source's wait goes on; answers it when it is over. */
static bool waits(struct pretend *s, struct source *from)
{
    if (!from->wait_until_us)
        return false;
    bool late = s->now_us >= from->wait_until_us;
    bool settled = from->settling && plant_settled(&s->plant);
    if (!late && !settled)
        return true;
    from->wait_until_us = 0;
    if (from->settling && !settled)
        answer(from, false, "not at rest in that time");
    else
        done(from);
    return false;
}

static void run_source(struct pretend *s, struct source *from)
{
    char line[VERB_LINE], why[VERB_WHY];
    bool too_long;
    while (!s->quit && !waits(s, from) && source_next(from, line, &too_long)) {
        struct verb v;
        if (too_long)
            answer(from, false, "the line is longer than %d bytes", VERB_LINE - 1);
        else if (verb_parse(line, &v, why))
            carry_out(s, &v, from);
        else
            answer(from, false, "%s", why);
    }
}

/* The script goes on while the live source waits, and the other way round: each has its own wait. */
void act_on_verbs(struct pretend *s)
{
    run_source(s, &s->script);
    run_source(s, &s->live);
    if (s->ends && s->live.ended && s->script.ended)
        s->quit = true;
}

uint64_t act_wake(const struct pretend *s)
{
    const struct source *both[] = {&s->script, &s->live};
    uint64_t next = UINT64_MAX;
    for (int i = 0; i < 2; i++) {
        uint64_t at = both[i]->wait_until_us;
        if (at && both[i]->settling)
            at = s->now_us + SETTLE_LOOK_US;
        if (at && at < next)
            next = at;
    }
    return next;
}
