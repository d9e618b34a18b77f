/* Reads tests/replay/NAME.log and NAME.check. */
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivers/recording.h"
#include "files/files.h"
#include "tests/replay/load.h"

static void fail(const char *path, unsigned line, const char *what)
{
    fprintf(stderr, "%s:%u: %s\n", path, line, what);
    exit(1);
}

static FILE *open_file(const char *name, const char *kind, char path[FILE_PATH])
{
    snprintf(path, FILE_PATH, "tests/replay/%s.%s", name, kind);
    FILE *f = fopen(path, "r");
    if (!f)
        fail(path, 0, "can't be opened; make record makes it");
    return f;
}

static void load_bytes(const char *name, struct recorded *out)
{
    char path[FILE_PATH], text[RECORDING_LINE];
    FILE *f = open_file(name, "log", path);
    uint64_t since = 0, at = 0;
    for (unsigned n = 1; fgets(text, sizeof text, f); n++) {
        struct recording_line line;
        const char *wrong = recording_parse(text, strcspn(text, "\n"), &line);
        if (wrong)
            fail(path, n, wrong);
        if (line.kind != RECORDING_DATA)
            continue;
        if (out->count + line.len > LOAD_BYTES)
            fail(path, n, "too many bytes");
        if (line.at != at)
            since = at;
        at = line.at;
        for (uint8_t i = 0; i < line.len; i++) /* time 0 would mean never */
            out->moments[out->count++] = (struct moment){at + 1, since + 1, line.bytes[i]};
    }
    fclose(f);
}

static bool read_mass(const char *text, mass_pg *out)
{
    return mass_parse(text, strlen(text), out) == FAIL_NONE;
}

/* Stretches without a weight, by their words. */
static bool weightless(const char *kind, uint8_t *out)
{
    static const char *const words[] = {
        [SPAN_OVER] = "over", [SPAN_UNDER] = "under", [SPAN_FAULT] = "fault", [SPAN_NOTYET] = "not-yet"};
    for (uint8_t k = 0; k < sizeof words / sizeof *words; k++)
        if (words[k] && !strcmp(kind, words[k])) {
            *out = k;
            return true;
        }
    return false;
}

/* "FROM TO still MASS", "... between MASS MASS", "... noise MASS", or over, under, fault, not-yet alone */
static bool read_span(const char *text, struct truth *t)
{
    char kind[16] = "", mass[2][60] = {"", ""};
    unsigned long long from, to;
    if (sscanf(text, "%llu %llu %15s", &from, &to, kind) != 3)
        return false;
    *t = (struct truth){.from = from, .to = to};
    if (weightless(kind, &t->kind))
        return true;
    const char *rest = strstr(text, kind) + strlen(kind);
    if (!strcmp(kind, "between")) {
        t->kind = SPAN_BETWEEN;
        char number[2][20], unit[2][8];
        if (sscanf(rest, "%19s %7s %19s %7s", number[0], unit[0], number[1], unit[1]) != 4)
            return false;
        for (int i = 0; i < 2; i++)
            snprintf(mass[i], sizeof mass[i], "%s %s", number[i], unit[i]);
        return read_mass(mass[0], &t->low) && read_mass(mass[1], &t->high);
    }
    t->kind = !strcmp(kind, "noise") ? SPAN_NOISE : SPAN_STILL;
    snprintf(mass[0], sizeof mass[0], "%.*s", (int)strcspn(rest, "\n"), rest);
    if (!read_mass(mass[0], &t->low) || (t->kind == SPAN_STILL && strcmp(kind, "still") != 0))
        return false;
    t->high = t->low;
    return true;
}

static void load_truth(const char *name, struct recorded *out)
{
    char path[FILE_PATH], text[200];
    FILE *f = open_file(name, "check", path);
    for (unsigned n = 1; fgets(text, sizeof text, f); n++) {
        text[strcspn(text, "\n")] = '\0';
        if (text[0] == '#' || !text[0])
            continue;
        if (!strncmp(text, "division ", 9)
                ? !read_mass(text + 9, &out->division)
                : out->span_count == LOAD_SPANS || !read_span(text, &out->spans[out->span_count++]))
            fail(path, n,
                 "expected division MASS, or FROM TO and still MASS, between MASS MASS, noise MASS, over, under, "
                 "fault, not-yet");
    }
    fclose(f);
    if (!out->division || out->span_count < 5)
        fail(path, 0, "expected a division and five stretches of time or more");
}

unsigned load_names(char names[LOAD_NAMES][CAP_KEY])
{
    glob_t g;
    unsigned n = 0;
    if (glob("tests/replay/*.log", 0, NULL, &g))
        fail("tests/replay", 0, "no recordings; run from the root of the tree");
    for (size_t i = 0; i < g.gl_pathc && n < LOAD_NAMES; i++) {
        const char *base = strrchr(g.gl_pathv[i], '/') + 1;
        snprintf(names[n++], CAP_KEY, "%.*s", (int)(strlen(base) - 4), base);
    }
    globfree(&g);
    return n;
}

void load(const char *name, struct recorded *out)
{
    static struct file_text text;
    struct faults faults = {0};
    char path[FILE_PATH];
    memset(out, 0, sizeof *out);
    snprintf(out->name, sizeof out->name, "%s", name);
    const char *slash = strchr(name, '/');
    snprintf(path, sizeof path, "profiles/scales/%s.ini", slash ? slash + 1 : name);
    if (!file_read(path, &text, &faults) || !profile_read(&text, &out->profile, &faults)) {
        faults_print(&faults, stderr);
        exit(1);
    }
    load_bytes(name, out);
    load_truth(name, out);
}
