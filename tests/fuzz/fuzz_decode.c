/* Bytes of a scale through every shipped profile. The first byte picks the profile, the rest is what the scale sends. */
#include <glob.h>
#include <string.h>

#include "core/decode.h"
#include "core/settle.h"
#include "files/files.h"
#include "fuzz.h"

#define PROFILES_MAX 32

static struct profile profiles[PROFILES_MAX];
static size_t profile_count;

static void load(void)
{
    static struct file_text text;
    static struct faults faults;
    glob_t g;

    MUST(glob("profiles/scales/*.ini", 0, NULL, &g) == 0);
    for (size_t i = 0; i < g.gl_pathc && profile_count < PROFILES_MAX; i++) {
        MUST(file_read(g.gl_pathv[i], &text, &faults));
        MUST(profile_read(&text, &profiles[profile_count++], &faults));
    }
    globfree(&g);
    MUST(profile_count > 0);
}

/* What is called a weight is one, and what is left of a line of fixed length is none. */
static void check_reading(const struct profile *p, const struct reading *r, const char *line, uint8_t len)
{
    struct reading part;

    MUST(r->state <= READING_NOTYET && r->basis <= BASIS_NET && r->unit <= UNIT_GR);
    if (reading_has_weight(r))
        MUST(r->unit != UNIT_NONE && r->step > 0 && r->mass % r->step == 0);
    for (uint8_t cut = 1; cut <= len && decode_line_length(p); cut++) {
        MUST(decode_line(p, line + cut, (uint8_t)(len - cut), &part) == DECODE_BAD_LINE || !reading_has_weight(&part));
        MUST(decode_line(p, line, (uint8_t)(len - cut), &part) == DECODE_BAD_LINE || !reading_has_weight(&part));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct decoder d;
    struct settle settle;
    struct settle_rule rule;
    const struct profile *p;
    uint64_t now = 1000000;
    char line[PROFILE_LINE_MAX];

    if (!profile_count)
        load();
    if (size == 0)
        return 0;
    p = &profiles[data[0] % profile_count];
    rule = settle_rule_for(p, 5 * PG_PER_G);
    decoder_reset(&d);
    settle_reset(&settle);
    for (size_t i = 1; i < size; i++, now += 10000) {
        uint8_t len = d.len;
        struct reading r;
        enum decode_result result;
        mass_pg mass;

        memcpy(line, d.line, len);
        result = decode_byte(p, &d, data[i], now, now - 10000, &r);
        MUST(d.good + d.bad <= i && decode_missing(&d) < PROFILE_LINE_MAX);
        if (result != DECODE_READING)
            continue;
        if (len < PROFILE_LINE_MAX)
            line[len] = (char)data[i];
        check_reading(p, &r, line, (uint8_t)(len + 1 - p->end_len));
        settle_feed(&settle, &rule, &r);
        (void)settle_judge(&settle, &rule, now, &mass);
    }
    if (size <= PROFILE_LINE_MAX) { /* the whole of it as one line */
        struct reading r;

        if (decode_line(p, (const char *)data + 1, (uint8_t)(size - 1), &r) == DECODE_READING)
            check_reading(p, &r, (const char *)data + 1, (uint8_t)(size - 1));
    }
    return 0;
}
