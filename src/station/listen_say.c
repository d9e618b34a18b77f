/* Listen: what is said, as text for people or as JSON lines. Bytes of the scale never reach a terminal as they are. */
#include <string.h>

#include "core/json.h"
#include "drivers/recording.h"
#include "station/listen.h"

#define TEXT_MAX (4 * LISTEN_RAW + 1)

static const char *state_text(uint8_t state)
{
    static const char *const words[] = {
        [READING_UNKNOWN] = "unknown",    [READING_STABLE] = "stable",        [READING_MOVING] = "moving",
        [READING_OVER] = "over-capacity", [READING_UNDER] = "under-zero",     [READING_FAULT] = "fault",
        [READING_UNIT] = "unit-unknown",  [READING_NOTYET] = "no-weight-yet",
    };
    return words[state];
}

static const char *basis_text(uint8_t basis)
{
    static const char *const words[] = {[BASIS_UNKNOWN] = "unknown", [BASIS_GROSS] = "gross", [BASIS_NET] = "net"};
    return words[basis];
}

static const char *end_text(enum listen_end end)
{
    static const char *const words[] = {[LISTEN_COUNT] = "count",
                                        [LISTEN_STOPPED] = "stopped",
                                        [LISTEN_PLAYED] = "played",
                                        [LISTEN_TROUBLE] = "device",
                                        [LISTEN_CAPTURE] = "capture"};
    return words[end];
}

static size_t hex_text(const uint8_t *bytes, size_t n, const char *between, char *buf)
{
    size_t len = 0;
    buf[0] = '\0';
    for (size_t i = 0; i < n; i++)
        len += (size_t)sprintf(buf + len, "%s%02X", i ? between : "", bytes[i]);
    return len;
}

/* Opens a JSON line with what every one of them holds. */
static void json_start(struct listen *l, struct json *j, char *buf, size_t cap, const char *event)
{
    json_begin(j, buf, cap);
    json_open(j, '{');
    json_put_int(j, "v", 1);
    json_put_int(j, "n", ++l->n);
    json_put_string(j, "event", event);
    json_put_int(j, "at_us", (int64_t)(l->now - l->start));
}

static void json_end(const struct listen *l, struct json *j)
{
    json_close(j, '}');
    if (json_finish(j))
        fprintf(l->options.out, "%s\n", j->buf);
    fflush(l->options.out);
}

static void json_raw(const struct listen *l, struct json *j)
{
    char text[TEXT_MAX];
    hex_text(l->raw, l->raw_len, "", text);
    json_put_string(j, "hex", text);
    recording_show(l->raw, l->raw_len, text);
    json_put_string(j, "text", text);
    json_put_int(j, "lost", l->raw_lost);
}

static void text_raw(const struct listen *l)
{
    char text[TEXT_MAX];
    recording_show(l->raw, l->raw_len, text);
    fprintf(l->options.out, "      text  %s\n", text);
    hex_text(l->raw, l->raw_len, " ", text);
    fprintf(l->options.out, "      hex   %s\n", text);
    if (l->raw_lost)
        fprintf(l->options.out, "            and %u bytes more\n", l->raw_lost);
    fflush(l->options.out);
}

static void text_time(const struct listen *l)
{
    fprintf(l->options.out, "%9.3f s  ", (double)(l->now - l->start) / 1e6);
}

static const char *sends_text(uint8_t sends)
{
    static const char *const words[] = {[SENDS_CONTINUOUS] = "sends by itself",
                                        [SENDS_POLLED] = "asked each period",
                                        [SENDS_SETTLED] = "sends when at rest",
                                        [SENDS_KEY] = "sends at its print key"};
    return words[sends];
}

void listen_say_hello(struct listen *l)
{
    const struct profile *p = l->feeder.line.profile;
    const char *driver = l->feeder.port.driver->name;
    char settings[32], buf[1024];
    char parity = "NEO"[p->parity % 3]; /* as enum profile_parity has them */
    snprintf(settings, sizeof settings, "%u baud %u%c%u", (unsigned)p->baud, p->bits, parity, p->stop);
    if (!l->options.json) {
        fprintf(l->options.out, "listening to %s (%s) with profile %s: %s, %s; Ctrl-C ends it\n", l->feeder.device,
                driver, p->name, settings, sends_text(p->sends));
        fflush(l->options.out);
        return;
    }
    struct json j;
    json_start(l, &j, buf, sizeof buf, "hello");
    json_put_string(&j, "device", l->feeder.device);
    json_put_string(&j, "driver", driver);
    json_put_string(&j, "profile", p->name);
    json_put_string(&j, "settings", settings);
    json_put_bool(&j, "polled", p->sends == SENDS_POLLED);
    json_end(l, &j);
}

static void json_reading(struct listen *l, const struct reading *r, uint64_t gap)
{
    struct json j;
    char buf[2048];
    json_start(l, &j, buf, sizeof buf, "reading");
    json_put_int(&j, "gap_us", (int64_t)gap);
    json_raw(l, &j);
    json_put_string(&j, "state", state_text(r->state));
    if (reading_has_weight(r)) {
        json_put_grams(&j, "mass_g", r->mass);
        json_put_grams(&j, "step_g", r->step);
        json_put_string(&j, "unit", unit_text(r->unit));
        json_put_string(&j, "basis", basis_text(r->basis));
    } else {
        json_put_null(&j, "mass_g");
    }
    json_end(l, &j);
}

void listen_say_reading(struct listen *l, const struct reading *r, uint64_t gap)
{
    char mass[MASS_TEXT_MAX] = "no weight";
    if (l->options.json) {
        json_reading(l, r, gap);
        return;
    }
    if (reading_has_weight(r))
        mass_format_unit(r->mass, r->unit, r->places, mass, sizeof mass);
    text_time(l);
    fprintf(l->options.out, "+%.0f ms  %s  %s", (double)gap / 1e3, mass, state_text(r->state));
    fprintf(l->options.out, "%s%s\n", reading_has_weight(r) ? ", basis " : "",
            reading_has_weight(r) ? basis_text(r->basis) : "");
    text_raw(l);
}

void listen_say_bad(struct listen *l, enum decode_result what)
{
    bool long_one = what == DECODE_TOO_LONG;
    if (!l->options.json) {
        text_time(l);
        fputs(long_one ? "NO LINE END within 64 bytes: is the baud right, is it the profile's end?\n"
                       : "NOT A LINE of this profile's shape\n",
              l->options.out);
        text_raw(l);
        return;
    }
    struct json j;
    char buf[2048];
    json_start(l, &j, buf, sizeof buf, long_one ? "too-long" : "bad-line");
    json_raw(l, &j);
    json_end(l, &j);
}

const char *listen_command_text(enum feeder_command which)
{
    static const char *const words[] = {[FEEDER_TARE] = "tare", [FEEDER_ZERO] = "zero", [FEEDER_UNITS] = "units"};
    return words[which];
}

void listen_say_sent(struct listen *l)
{
    const struct profile_command *c = feeder_command(l->feeder.line.profile, l->options.send);
    char text[4 * PROFILE_COMMAND + 1];
    if (!l->options.json) {
        text_time(l);
        fprintf(l->options.out, "SENT the %s command\n", listen_command_text(l->options.send));
        recording_show((const uint8_t *)c->bytes, c->len, text);
        fprintf(l->options.out, "      text  %s\n", text);
        fflush(l->options.out);
        return;
    }
    struct json j;
    char buf[512];
    json_start(l, &j, buf, sizeof buf, "sent");
    json_put_string(&j, "command", listen_command_text(l->options.send));
    hex_text((const uint8_t *)c->bytes, c->len, "", text);
    json_put_string(&j, "hex", text);
    json_end(l, &j);
}

void listen_say_silent(struct listen *l, uint64_t for_us)
{
    if (!l->options.json) {
        text_time(l);
        fprintf(l->options.out, "SILENT: no reading for %.1f s\n", (double)for_us / 1e6);
        fflush(l->options.out);
        return;
    }
    struct json j;
    char buf[256];
    json_start(l, &j, buf, sizeof buf, "silent");
    json_put_int(&j, "for_us", (int64_t)for_us);
    json_end(l, &j);
}

/* Readings a second in thousandths; 0 where fewer than two came. */
static int64_t rate_milli(const struct listen_counts *c)
{
    uint64_t span = c->last_at - c->first_at;
    return c->readings > 1 && span ? (int64_t)(((uint64_t)c->readings - 1) * 1000000000u / span) : 0;
}

static void json_counts(struct listen *l, struct json *j)
{
    static const char *const keys[] = {[READING_OVER] = "over_capacity",
                                       [READING_UNDER] = "under_zero",
                                       [READING_FAULT] = "fault",
                                       [READING_UNIT] = "unit_unknown",
                                       [READING_NOTYET] = "no_weight_yet"};
    const struct listen_counts *c = &l->counts;
    json_put_int(j, "readings", c->readings);
    json_put_int(j, "no_weight", c->no_weight);
    json_put_int(j, "bad_lines", c->bad);
    json_put_int(j, "too_long", c->too_long);
    json_put_int(j, "bytes", (int64_t)c->bytes);
    json_put_int(j, "skipped_bytes", (int64_t)c->skipped);
    json_put_int(j, "requests", c->requests);
    json_key(j, "per_second");
    json_decimal(j, rate_milli(c), 3);
    json_put_int(j, "longest_gap_us", (int64_t)c->longest_gap);
    json_put_int(j, "gaps", c->gaps);
    for (unsigned k = READING_OVER; k <= READING_NOTYET; k++)
        json_put_int(j, keys[k], c->by_state[k]);
    json_end(l, j);
}

static void json_summary(struct listen *l, enum listen_end end)
{
    struct json j;
    char buf[1024];
    json_start(l, &j, buf, sizeof buf, "end");
    json_put_string(&j, "why", end_text(end));
    json_counts(l, &j);
}

/* Rate, gaps and what was not a weight, by its kind. */
static void text_counts(const struct listen *l)
{
    const struct listen_counts *c = &l->counts;
    FILE *to = l->options.out;
    fprintf(to, "%.1f s, %llu bytes, %u readings, %.1f a second", (double)(l->now - l->start) / 1e6,
            (unsigned long long)c->bytes, (unsigned)c->readings, (double)rate_milli(c) / 1e3);
    if (l->feeder.line.profile->sends == SENDS_POLLED)
        fprintf(to, ", %u requests", (unsigned)c->requests);
    fprintf(to, "\n  longest gap %.0f ms; %u longer than the profile's silent time of %u ms\n",
            (double)c->longest_gap / 1e3, (unsigned)c->gaps, (unsigned)l->feeder.line.profile->silent_ms);
    fprintf(to, "  readings without a weight %u", (unsigned)c->no_weight);
    for (unsigned k = READING_OVER; k <= READING_NOTYET; k++)
        if (c->by_state[k])
            fprintf(to, ", %s %u", state_text((uint8_t)k), (unsigned)c->by_state[k]);
    fprintf(to, "; lines not of the shape %u; without line end %u; bytes skipped %llu\n", (unsigned)c->bad,
            (unsigned)c->too_long, (unsigned long long)c->skipped);
}

void listen_say_counts(struct listen *l)
{
    struct json j;
    char buf[1024];
    if (l->options.json) {
        json_start(l, &j, buf, sizeof buf, "counts");
        json_counts(l, &j);
        return;
    }
    fputs("so far: ", l->options.out);
    text_counts(l);
    fflush(l->options.out);
}

static void text_summary(const struct listen *l)
{
    const struct listen_counts *c = &l->counts;
    FILE *to = l->options.out;
    fputc('\n', to);
    text_counts(l);
    if (!c->readings && c->bytes)
        fputs("  No line was of the profile's shape: compare the text above with its fields, and if it is not readable "
              "at "
              "all, try another baud.\n",
              to);
    if (!c->bytes)
        fputs("  Nothing came at all: check the cable, the port, and whether the scale sends by itself or wants to be "
              "asked.\n",
              to);
}

void listen_say_end(struct listen *l, enum listen_end end)
{
    if (l->options.json)
        json_summary(l, end);
    else
        text_summary(l);
    fflush(l->options.out);
}
