/* Verb: see verb.h. Only reads what is said; act.c does it. */
#include "plant/verb.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What stands after the verb. */
enum operands { OP_NONE, OP_MASS, OP_POUR, OP_TAKE, OP_VIBRATE, OP_MAYBE_SECONDS, OP_SECONDS, OP_COUNT, OP_UNIT };

struct form {
    const char *word;
    uint8_t kind, operands;
    const char *text;
};

static const struct form forms[] = {
    {"put", VERB_PUT, OP_MASS, "put MASS"},
    {"pour", VERB_POUR, OP_POUR, "pour MASS at MASS/s"},
    {"stop", VERB_STOP, OP_NONE, "stop"},
    {"take", VERB_TAKE, OP_TAKE, "take MASS [at MASS/s], or take all"},
    {"bump", VERB_BUMP, OP_MASS, "bump MASS"},
    {"vibrate", VERB_VIBRATE, OP_VIBRATE, "vibrate MASS HZ SECONDS"},
    {"silent", VERB_SILENT, OP_MAYBE_SECONDS, "silent [SECONDS]"},
    {"fault", VERB_FAULT, OP_MAYBE_SECONDS, "fault [SECONDS]"},
    {"garbage", VERB_GARBAGE, OP_COUNT, "garbage BYTES (1 to 1000)"},
    {"unplug", VERB_UNPLUG, OP_NONE, "unplug"},
    {"plug", VERB_PLUG, OP_NONE, "plug"},
    {"restart", VERB_RESTART, OP_NONE, "restart"},
    {"print", VERB_PRINT, OP_NONE, "print"},
    {"tare", VERB_TARE, OP_NONE, "tare"},
    {"zero", VERB_ZERO, OP_NONE, "zero"},
    {"unit", VERB_UNIT, OP_UNIT, "unit kg|g|mg|lb|oz|gr"},
    {"figures", VERB_FIGURES, OP_UNIT, "figures kg|g|mg|lb|oz|gr"},
    {"wait", VERB_WAIT, OP_SECONDS, "wait SECONDS"},
    {"wait-settled", VERB_WAIT_SETTLED, OP_MAYBE_SECONDS, "wait-settled [SECONDS]"},
    {"show", VERB_SHOW, OP_NONE, "show"},
    {"quit", VERB_QUIT, OP_NONE, "quit"},
};
#define FORM_COUNT (sizeof forms / sizeof *forms)

const char *verb_forms(void)
{
    return "  put MASS                    set a container or a thing down\n"
           "  pour MASS at MASS/s         pour; a new pour takes the place of the one going on\n"
           "  stop                        stop pouring\n"
           "  take MASS [at MASS/s]       take or spoon out;  take all: empty the platform\n"
           "  bump MASS                   a knock of this height\n"
           "  vibrate MASS HZ SECONDS     the bench shakes\n"
           "  silent [SECONDS]            send nothing (silent 0: speak again)\n"
           "  fault [SECONDS]             say a fault in the weight's place (fault 0: a weight again)\n"
           "  garbage BYTES               send so many random bytes\n"
           "  unplug, plug                pull the cable and put it back\n"
           "  restart                     the indicator restarts and takes zero anew\n"
           "  print                       the indicator's print key, where its profile sends at a key only\n"
           "  tare, zero, unit UNIT       the indicator's own keys\n"
           "  figures UNIT                the figures are of this unit, the lines say the old one\n"
           "  wait SECONDS                before the next verb;  wait-settled [SECONDS]: until at rest\n"
           "  show                        true mass, shown figure, motion\n"
           "  quit\n";
}

static const char *skip_blanks(const char *text)
{
    return text + strspn(text, " \t");
}

/* A length of text without the blanks at its end. */
static size_t trimmed(const char *text, size_t n)
{
    while (n && (text[n - 1] == ' ' || text[n - 1] == '\t' || text[n - 1] == '\r'))
        n--;
    return n;
}

static bool read_mass(const char *text, size_t n, mass_pg *out)
{
    return mass_parse(text, trimmed(text, n), out) == FAIL_NONE && *out > 0;
}

/* "MASS at MASS/s"; without " at " the flow stays 0. */
static bool read_flow(const char *text, size_t n, struct verb *out)
{
    const char *at = NULL;
    for (const char *p = text; p + 4 <= text + n; p++)
        if (!memcmp(p, " at ", 4))
            at = p;
    if (!at)
        return read_mass(text, n, &out->mass);
    const char *flow = at + 4;
    size_t len = trimmed(flow, (size_t)(text + n - flow));
    if (len < 2 || memcmp(flow + len - 2, "/s", 2) != 0)
        return false;
    return read_mass(text, (size_t)(at - text), &out->mass) && read_mass(flow, len - 2, &out->flow);
}

/* Cuts a number from the end of the text, with its unit word if it has one. 0 .. most. */
static bool cut_number(const char *text, size_t *n, const char *unit, double most, double *out)
{
    size_t end = trimmed(text, *n), word = strlen(unit);
    if (end > word && !memcmp(text + end - word, unit, word))
        end = trimmed(text, end - word);
    size_t begin = end;
    while (begin && strchr("0123456789.", text[begin - 1]))
        begin--;
    char digits[24];
    if (begin == end || end - begin >= sizeof digits)
        return false;
    memcpy(digits, text + begin, end - begin);
    digits[end - begin] = 0;
    char *stop;
    *out = strtod(digits, &stop);
    *n = begin;
    return !*stop && *out <= most;
}

static bool read_vibrate(const char *text, size_t n, struct verb *out)
{
    /* Above half the step rate the simulation could not follow. */
    return cut_number(text, &n, "s", 3600, &out->seconds) && cut_number(text, &n, "Hz", 200, &out->hz) &&
           read_mass(text, n, &out->mass);
}

static bool read_number(const char *text, size_t n, const char *unit, double most, double *out)
{
    return cut_number(text, &n, unit, most, out) && n == 0;
}

static bool read_operands(const struct form *f, const char *text, size_t n, struct verb *out)
{
    double number;
    switch (f->operands) {
    case OP_MASS:
        return read_mass(text, n, &out->mass);
    case OP_POUR:
        return read_flow(text, n, out) && out->flow > 0;
    case OP_TAKE:
        if (n == 3 && !memcmp(text, "all", 3)) {
            out->kind = VERB_CLEAR;
            return true;
        }
        return read_flow(text, n, out);
    case OP_VIBRATE:
        return read_vibrate(text, n, out);
    case OP_MAYBE_SECONDS:
        out->seconds = -1;
        return n == 0 || read_number(text, n, "s", 86400, &out->seconds);
    case OP_SECONDS:
        return read_number(text, n, "s", 86400, &out->seconds);
    case OP_COUNT:
        if (!read_number(text, n, "bytes", 1000, &number) || number < 1 || number != floor(number))
            return false;
        out->count = (uint32_t)number;
        return true;
    case OP_UNIT:
        out->unit = (uint8_t)unit_from_text(text, n);
        return out->unit != UNIT_NONE;
    default:
        return n == 0;
    }
}

static const struct form *find_form(const char *word, size_t n)
{
    for (size_t i = 0; i < FORM_COUNT; i++)
        if (strlen(forms[i].word) == n && !memcmp(forms[i].word, word, n))
            return &forms[i];
    return NULL;
}

bool verb_parse(const char *line, struct verb *out, char why[VERB_WHY])
{
    memset(out, 0, sizeof *out);
    line = skip_blanks(line);
    size_t n = trimmed(line, strcspn(line, "\n"));
    if (n == 0 || *line == '#')
        return true;
    size_t word = strcspn(line, " \t\r\n");
    const struct form *f = find_form(line, word);
    if (!f) {
        snprintf(why, VERB_WHY,
                 "no verb \"%.*s\"; verbs are put, pour, stop, take, bump, vibrate, silent, fault, garbage, "
                 "unplug, plug, restart, print, tare, zero, unit, figures, wait, wait-settled, show, quit",
                 (int)(word < 40 ? word : 40), line);
        return false;
    }
    const char *rest = skip_blanks(line + word);
    size_t rest_len = rest < line + n ? (size_t)(line + n - rest) : 0;
    out->kind = f->kind;
    if (read_operands(f, rest, rest_len, out))
        return true;
    snprintf(why, VERB_WHY, "\"%.*s\" is not of the form: %s%s", (int)(n < 60 ? n : 60), line, f->text,
             strstr(f->text, "MASS") ? " (a mass is a number above 0 and a unit: 12.5 kg, 340 g)" : "");
    return false;
}
