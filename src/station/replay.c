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

/* A read that brought nothing counts too: by it the line is known to have been drained, and the next reading is dated. */
static bool replay_bytes(struct weigher *w, const char *text)
{
    struct feeder_bytes bytes = {0};
    uint8_t k;
    char *end;
    if (!scale_of(w, text, &k, &text))
        return false;
    bytes.at = strtoull(text, &end, 10);
    int n = !strcmp(end, " -") ? 0 : tape_hex(end + (*end == ' '), bytes.data, sizeof bytes.data);
    if (n < 0)
        return false;
    bytes.len = (uint16_t)n;
    act_bytes(w, k, &bytes);
    return true;
}

/* At each opening the live feeder forgets half a line, and so must the replay, or it would read another first line. */
static bool replay_link(struct weigher *w, const char *text, char what)
{
    uint8_t k;
    if (!scale_of(w, text, &k, &text))
        return false;
    if (what == 'u')
        feeder_line_reset(&w->feeders[k].line, &w->profiles[k], w->now);
    else
        act_link(w, k, what == 'd' ? LINK_UNPLUGGED : what == 'o' ? LINK_TAKEN : LINK_UNUSABLE);
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
    case 'o':
    case 'x':
        return replay_link(w, rest, copy[0]);
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
