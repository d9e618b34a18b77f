#include "tests/e2e/demo/heard.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/mass.h"

#define BAR " | "

static const char *after(const char *text, const char *head)
{
    size_t n = strlen(head);
    return strncmp(text, head, n) == 0 ? text + n : NULL;
}

static bool grams(const char *text, size_t n, double *out)
{
    mass_pg mass;
    if (mass_parse(text, n, &mass) != FAIL_NONE)
        return false;
    *out = (double)mass * 1e-12;
    return true;
}

static void read_field(const char *field, struct heard *out)
{
    const char *rest;
    if ((rest = after(field, "item ")))
        out->item = (unsigned)strtoul(rest, NULL, 10);
    else if ((rest = after(field, "bin ")))
        out->bin = (unsigned)strtoul(rest, NULL, 10);
    else if ((rest = after(field, "scale ")))
        snprintf(out->scale, sizeof out->scale, "%s", rest);
    else if ((rest = after(field, "type: ")))
        snprintf(out->answers, sizeof out->answers, "%s", rest);
    else if ((rest = after(field, "band "))) {
        const char *to = strstr(rest, " to ");
        out->has_band =
            to && grams(rest, (size_t)(to - rest), &out->low_g) && grams(to + 4, strlen(to + 4), &out->high_g);
    }
}

static void read_head(const char *head, struct heard *out)
{
    const char *rest;
    if ((rest = after(head, "prompt "))) {
        char *ask;
        out->n = (unsigned)strtoul(rest + (*rest == '@'), &ask, 10);
        snprintf(out->ask, sizeof out->ask, "%s", *ask ? ask + 1 : "");
        out->kind = HEARD_PROMPT;
    } else if ((rest = after(head, "recorded "))) {
        out->kind = HEARD_RECORDED;
        read_field(rest, out);
    } else if (after(head, "refused ")) {
        const char *at = strchr(head, '@');
        out->kind = HEARD_REFUSED;
        if (at)
            out->n = (unsigned)strtoul(at + 1, NULL, 10);
    }
}

void heard_read(const char *line, struct heard *out)
{
    char copy[1024], *field = copy, *bar;
    memset(out, 0, sizeof *out);
    snprintf(copy, sizeof copy, "%s", line);
    for (bool first = true; field; first = false) {
        if ((bar = strstr(field, BAR)))
            *bar = 0;
        if (first)
            read_head(field, out);
        else
            read_field(field, out);
        field = bar ? bar + sizeof BAR - 1 : NULL;
    }
}

bool heard_takes(const struct heard *h, const char *answer)
{
    size_t n = strlen(answer);
    for (const char *at = h->answers; (at = strstr(at, answer)); at += n) {
        bool begins = at == h->answers || at[-1] == ' ', ends = at[n] == ',' || !at[n];
        if (begins && ends)
            return true;
    }
    return false;
}
