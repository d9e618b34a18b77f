/* The same run again from its tape: no device, no clock, no disk but a scratch journal for reading JSON. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "station/inside.h"

static int wrong(const struct weigher *w, const char *what)
{
    fprintf(stderr, "tareline: %s:%u: %s\n", w->args->replay, w->tape.line_number, what);
    return EXIT_FILE;
}

static bool scale_of(const struct weigher *w, const char *text, uint8_t *k, const char **rest)
{
    char *end;
    unsigned long n = strtoul(text, &end, 10);
    *k = (uint8_t)n;
    *rest = *end == ' ' ? end + 1 : end;
    return end != text && n < w->setup.scale_count;
}

static bool replay_bytes(struct weigher *w, const char *text)
{
    struct feeder_bytes bytes = {0};
    struct reading r;
    enum decode_result got;
    uint8_t k;
    char *end;
    if (!scale_of(w, text, &k, &text))
        return false;
    bytes.at = strtoull(text, &end, 10);
    int n = !strcmp(end, " -") ? 0 : tape_hex(end + (*end == ' '), bytes.data, sizeof bytes.data);
    if (n < 0)
        return false;
    bytes.len = (uint16_t)n;
    while ((got = feeder_take(&w->feeders[k].line, &bytes, &r)) != DECODE_MORE)
        if (got == DECODE_READING)
            act_reading(w, k, &r);
    return true;
}

static bool replay_link(struct weigher *w, const char *text, bool up)
{
    struct event down = {.kind = EV_LINK, .link = LINK_UNPLUGGED, .at = w->now};
    if (!scale_of(w, text, &down.scale, &text))
        return false;
    if (up)
        feeder_line_reset(&w->feeders[down.scale].line, &w->profiles[down.scale], w->now);
    else
        act(w, &down);
    return true;
}

static bool replay_wake(struct weigher *w, const char *text)
{
    int64_t now = 0;
    w->wake++;
    bool good = tape_int(&text, &now) && tape_int(&text, &w->utc);
    w->now = (uint64_t)now;
    return good;
}

static bool replay_line(struct weigher *w, const char *line)
{
    static char copy[TAPE_LINE]; /* the tape goes on while the line is acted on */
    snprintf(copy, sizeof copy, "%s", line);
    const char *rest = copy[0] && copy[1] == ' ' ? copy + 2 : copy + 1;
    switch (copy[0]) {
    case 'w':
        return replay_wake(w, rest);
    case 'b':
        return replay_bytes(w, rest);
    case 'u':
    case 'd':
        return replay_link(w, rest, copy[0] == 'u');
    case 'a':
        act_line(w, rest);
        return true;
    case 't':
        act_tick(w);
        return true;
    case 'z':
        act_leave(w);
        return true;
    default:
        return false;
    }
}

int replay_run(struct weigher *w)
{
    const char *line = tape_expect(&w->tape, "w");
    if (!line || !replay_wake(w, line))
        return wrong(w, "a wake-up (w) should come here");
    act_begin(w);
    while (!w->ended && (line = tape_next(&w->tape)) != NULL)
        if (!replay_line(w, line))
            return wrong(w, "not a line of a capture");
    if (!w->ended)
        return wrong(w, "the capture ends before the run did (was it cut off?); up to here everything is the same");
    return w->exit_code;
}
