/* build/bench-line [--short] [--json]: what damage on the line does to weights, and what a line costs.
 *
 *   wrong_accepted         weights accepted (settled, at a reading) in the sweep that the undamaged recording did not hold as
 *                          settled at that time, give or take the longest gap of an unbroken row of readings (a line that
 *                          is lost may let the same weight settle a little sooner or later): goal 0
 *   wrong_decoded_checked  damaged frames of profiles with a check sum that decode took for another weight: report
 *   resync_frames          most whole frames lost after garbage ended: goal 1 or less
 *   mallocs_per_line       goal 0
 *   instructions_per_line  decode of one line byte by byte, by callgrind; decode_vs_strtod: against strtod on its figure
 *
 * The sweep damages every profile's recording (tests/replay) at places spread evenly over it: one bit, two bits of the same
 * or of neighbouring bytes, a byte dropped or doubled. Where the line has a parity bit, a byte with one bit wrong comes as
 * NUL, as the serial driver has the kernel deliver it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/agree.h"
#include "core/decode.h"
#include "core/settle.h"
#include "tests/replay/load.h"

#define SWEEP 100000
#define SWEEP_SHORT 6000
#define LINES_MEASURED 20000

static struct recorded rec;

/* glibc's own, so that every call can be counted. */
void *__libc_malloc(size_t n);
void *__libc_calloc(size_t n, size_t size);
void *__libc_realloc(void *p, size_t n);
static unsigned long mallocs;
void *malloc(size_t n)
{
    mallocs++;
    return __libc_malloc(n);
}
void *calloc(size_t n, size_t size)
{
    mallocs++;
    return __libc_calloc(n, size);
}
void *realloc(void *p, size_t n)
{
    mallocs++;
    return __libc_realloc(p, n);
}

/* xorshift (Marsaglia 2003, triple 13, 7, 17): the same damage in every run. */
static uint64_t random_state = 88172645463325252u;
static uint32_t below(uint32_t n)
{
    random_state ^= random_state << 13;
    random_state ^= random_state >> 7;
    random_state ^= random_state << 17;
    return (uint32_t)((random_state >> 32) % n);
}

/* Decode and settle together, and what they judged at the newest reading. */
struct way {
    struct decoder d;
    struct settle settle;
    struct agree agree; /* of a scale that sends at rest or at its key only */
};

static struct settle_rule rule;
static struct way before[LOAD_BYTES];   /* of the undamaged recording, before its byte */
static struct reading said[LOAD_BYTES]; /* by the byte that ended a frame; at 0: it ended none */
static bool accepted[LOAD_BYTES];
static mass_pg accepts[LOAD_BYTES];

struct score {
    unsigned long cases, wrong_accepted, wrong_decoded_checked;
};

/* One byte. True: a reading came; *settled and *mass: whether it is now accepted. */
static bool step(struct way *w, const struct moment *m, struct reading *r, bool *settled, mass_pg *mass)
{
    *settled = false;
    if (decode_byte(&rec.profile, &w->d, m->byte, m->at, m->since, r) != DECODE_READING)
        return false;
    settle_feed(&w->settle, &rule, r);
    agree_feed(&w->agree, rec.division, r);
    *settled = (agree_counts(&rec.profile) ? agree_judge(&w->agree, r, m->at, mass)
                                           : settle_judge(&w->settle, &rule, m->at, mass)) == SETTLE_SETTLED;
    return true;
}

static void play_undamaged(void)
{
    struct way w;
    rule = settle_rule_for(&rec.profile, rec.division);
    memset(&w, 0, sizeof w);
    decoder_reset(&w.d);
    settle_reset(&w.settle);
    for (uint32_t i = 0; i < rec.count; i++) {
        struct reading r = {0};
        before[i] = w;
        said[i].at = 0;
        accepted[i] = false;
        if (step(&w, &rec.moments[i], &r, &accepted[i], &accepts[i]))
            said[i] = r;
    }
}

/* Was this mass settled in the undamaged recording within a gap of now? */
static bool held(uint32_t upto, uint64_t now, mass_pg mass)
{
    uint64_t gap = rule.gap_us ? rule.gap_us : 450000;
    for (uint32_t i = upto + 1; i-- > 0 && rec.moments[i].at + gap >= now;)
        if (accepted[i] && accepts[i] == mass)
            return true;
    for (uint32_t i = upto; i < rec.count && rec.moments[i].at <= now + gap; i++)
        if (accepted[i] && accepts[i] == mass)
            return true;
    return false;
}

/* Did the undamaged recording say the same at about this time? (A frame may end one late by a doubled byte.) */
static bool was_said(uint32_t at, const struct reading *r)
{
    for (uint32_t i = at > PROFILE_LINE_MAX ? at - PROFILE_LINE_MAX : 0; i <= at + 1 && i < rec.count; i++)
        if (said[i].at &&
            (!reading_has_weight(r) ? said[i].state == r->state : said[i].mass == r->mass && said[i].basis == r->basis))
            return true;
    return false;
}

enum damage { ONE_BIT, TWO_BITS, DROPPED, DOUBLED, DAMAGES };

/* The damaged bytes that come instead of the one at `at`; how many. Of two bits the second may be in the byte behind. */
static unsigned damage(enum damage how, uint32_t at, struct moment out[2], uint32_t *taken)
{
    unsigned bits = rec.profile.bits == 7 ? 7 : 8, flips[2] = {0, 0};
    *taken = 1;
    out[0] = out[1] = rec.moments[at];
    if (how == DROPPED)
        return 0;
    if (how == DOUBLED)
        return 2;
    flips[0] = 1u << below(bits);
    if (how == TWO_BITS && below(2) && at + 1 < rec.count) {
        out[1] = rec.moments[at + 1];
        flips[1] = 1u << below(bits);
        *taken = 2;
    } else if (how == TWO_BITS) {
        unsigned second;
        do
            second = 1u << below(bits);
        while (second == flips[0]);
        flips[0] |= second;
    }
    for (unsigned i = 0; i < *taken; i++) {
        bool odd = __builtin_popcount(flips[i]) & 1;
        out[i].byte = (uint8_t)(odd && rec.profile.parity != PARITY_NONE ? 0 : out[i].byte ^ flips[i]);
    }
    return *taken;
}

static bool same(const struct way *a, const struct way *b)
{
    return a->d.len == b->d.len && a->d.dropping == b->d.dropping && !memcmp(a->d.line, b->d.line, a->d.len) &&
           !memcmp(&a->settle, &b->settle, sizeof a->settle) && !memcmp(&a->agree, &b->agree, sizeof a->agree);
}

static void judge(struct score *s, const struct reading *r, bool settled, mass_pg mass, uint32_t at)
{
    if (settled && !held(at, r->at, mass)) {
        s->wrong_accepted++;
        if (getenv("BENCH_LINE_SHOW"))
            fprintf(stderr, "%s: %lld pg accepted at %llu\n", rec.name, (long long)mass, (unsigned long long)r->at);
    }
    if (rec.profile.check.method && !was_said(at, r))
        s->wrong_decoded_checked++;
}

/* From the damage on until all is as it would have been, or five seconds have passed. */
static void hurt(struct score *s, enum damage how, uint32_t at)
{
    struct way w = before[at];
    struct moment out[2];
    uint32_t taken;
    unsigned n = damage(how, at, out, &taken);
    struct reading r;
    bool settled;
    mass_pg mass;
    s->cases++;
    for (unsigned i = 0; i < n; i++)
        if (step(&w, &out[i], &r, &settled, &mass))
            judge(s, &r, settled, mass, at + i);
    for (uint32_t i = at + taken; i < rec.count && rec.moments[i].at < rec.moments[at].at + 5000000; i++) {
        if (said[i - 1].at && same(&w, &before[i]))
            return;
        if (step(&w, &rec.moments[i], &r, &settled, &mass))
            judge(s, &r, settled, mass, i);
    }
}

/* What may come before a frame: hand-written, and of every length at random. */
static const char *const noises[] = {
    "\x02",
    "\x03",
    "\r",
    "\n",
    "=",
    "\x1b]0;x\x07",
    "\x1b[2J\x1b[H",
    "9999999999",
    "-",
    "+1",
    "ST,GS,+  2.",
    "\xff\xfe\xfd",
    "(((((((((((((((",
    "\x02\x02\x02\x02\x02\x02\x02\x02\x02\x02\x02",
    "=====================",
    "\r\r\r\r",
    "GROSS 1",
    "0000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000",
};
#define NOISES (sizeof noises / sizeof *noises)

static void begin_noise(struct decoder *d, unsigned which, uint32_t from)
{
    struct reading r;
    uint64_t at = rec.moments[from].at - 1;
    decoder_reset(d);
    for (uint32_t i = from > 200 ? from - 200 : 0; i < from; i++)
        decode_byte(&rec.profile, d, rec.moments[i].byte, at, at, &r);
    if (which < NOISES) {
        for (const char *c = noises[which]; *c; c++)
            decode_byte(&rec.profile, d, (uint8_t)*c, at, at, &r);
        return;
    }
    for (uint32_t n = (uint32_t)(1 + which - NOISES); n > 0; n--)
        decode_byte(&rec.profile, d, (uint8_t)below(256), at, at, &r);
}

/* How many whole frames from the place on are lost until one is read as it was. */
static unsigned frames_lost(unsigned which, uint32_t from)
{
    struct decoder d;
    unsigned lost = 0;
    begin_noise(&d, which, from);
    for (uint32_t i = from; i < rec.count; i++) {
        const struct moment *m = &rec.moments[i];
        struct reading r;
        bool got = decode_byte(&rec.profile, &d, m->byte, m->at, m->since, &r) == DECODE_READING;
        if (!said[i].at)
            continue;
        if (got && r.mass == said[i].mass && r.state == said[i].state)
            return lost;
        lost++;
    }
    return lost;
}

/* Places where a frame has just ended and some whole ones follow, outside the recording's own noise. */
static unsigned resync(unsigned rounds)
{
    unsigned most = 0;
    uint32_t quiet = rec.count;
    for (uint32_t k = 0; k < rec.span_count; k++)
        for (uint32_t i = 0; rec.spans[k].kind == SPAN_NOISE && i < rec.count; i++)
            if (rec.moments[i].at >= rec.spans[k].from && i < quiet)
                quiet = i;
    for (unsigned n = 0; n < rounds + NOISES; n++) {
        uint32_t from = 1 + below(quiet / 2);
        while (from < quiet && !said[from - 1].at)
            from++;
        unsigned lost = frames_lost(n < NOISES ? n : NOISES + n % 150, from);
        if (lost > 1 && getenv("BENCH_LINE_SHOW"))
            fprintf(stderr, "%s: noise %u at %u: %u frames lost\n", rec.name, n, from, lost);
        most = lost > most ? lost : most;
    }
    return most;
}

/* ---- what a line costs ---- */

static const char usual_line[] = "ST,GS,+  2.350kg\r\n";

__attribute__((noinline)) static int64_t measured_decode(const struct profile *p, unsigned lines)
{
    struct decoder d;
    struct reading r = {0};
    decoder_reset(&d);
    for (unsigned i = 0; i < lines; i++)
        for (size_t k = 0; k < sizeof usual_line - 1; k++)
            decode_byte(p, &d, (uint8_t)usual_line[k], i + 1, i, &r);
    return r.mass;
}

__attribute__((noinline)) static double measured_strtod(unsigned lines)
{
    double sum = 0;
    for (unsigned i = 0; i < lines; i++)
        sum += strtod(usual_line + 7, NULL);
    return sum;
}

/* Instructions of one of the two, by a run of this program under callgrind; below 0 if that can't be had. */
static double instructions(const char *self, const char *which)
{
    char command[600], line[300];
    double collected = -1;
    snprintf(
        command, sizeof command,
        "valgrind --tool=callgrind --callgrind-out-file=/dev/null --collect-atstart=no '--toggle-collect=measured_%s*' "
        "'%s' --run %s 2>&1",
        which, self, which);
    FILE *f = popen(command, "r");
    if (!f)
        return -1;
    while (fgets(line, sizeof line, f)) {
        const char *at = strstr(line, "Collected : ");
        if (at)
            collected = strtod(at + 12, NULL) / LINES_MEASURED;
    }
    return pclose(f) == 0 ? collected : -1;
}

static int run_only(const char *which)
{
    load("status-basis-kg", &rec);
    if (!strcmp(which, "decode"))
        return measured_decode(&rec.profile, LINES_MEASURED) == 2350 * PG_PER_G ? 0 : 1;
    return measured_strtod(LINES_MEASURED) > 0 ? 0 : 1;
}

struct result {
    struct score score;
    unsigned profiles, resync;
    double mallocs, decode, strtod;
};

static void measure(struct result *res, const char *self, unsigned sweep, bool costs)
{
    static char names[LOAD_NAMES][CAP_KEY];
    unsigned count = load_names(names), lines = 0;
    for (unsigned k = 0; k < count; k++) {
        load(names[k], &rec);
        lines += rec.profile.form == FORM_LINES;
    }
    for (unsigned k = 0; k < count; k++) {
        load(names[k], &rec);
        if (rec.profile.form != FORM_LINES)
            continue; /* blocks don't lie on a cable: a driver makes them of what passed the bus's own check */
        play_undamaged();
        for (unsigned n = 0, all = sweep / lines + 1; n < all; n++)
            hurt(&res->score, (enum damage)(n % DAMAGES), (uint32_t)((uint64_t)n * rec.count / all));
        unsigned lost = resync(costs ? 3000 : 300);
        res->resync = lost > res->resync ? lost : res->resync;
        res->profiles++;
    }
    load("status-basis-kg", &rec);
    mallocs = 0;
    measured_decode(&rec.profile, LINES_MEASURED);
    res->mallocs = (double)mallocs / LINES_MEASURED;
    res->decode = costs ? instructions(self, "decode") : -1;
    res->strtod = costs ? instructions(self, "strtod") : -1;
}

static void say(const struct result *r, bool json)
{
    char decode[32] = "null", ratio[32] = "null";
    if (r->decode > 0)
        snprintf(decode, sizeof decode, "%.0f", r->decode);
    if (r->decode > 0 && r->strtod > 0)
        snprintf(ratio, sizeof ratio, "%.2f", r->decode / r->strtod);
    printf(json
               ? "{\"wrong_accepted\":%lu,\"wrong_decoded_checked\":%lu,\"resync_frames\":%u,\"mallocs_per_line\":%.4g,"
                 "\"instructions_per_line\":%s,\"decode_vs_strtod\":%s,\"damages\":%lu,\"profiles\":%u}\n"
               : "wrong weights accepted %lu (goal 0), check sums fooled %lu, frames lost after garbage %u (goal 1), "
                 "mallocs a line %.4g (goal 0)\ninstructions a line %s, that is %s of strtod on its figure\n%lu "
                 "damages of "
                 "%u profiles\n",
           r->score.wrong_accepted, r->score.wrong_decoded_checked, r->resync, r->mallocs, decode, ratio,
           r->score.cases, r->profiles);
}

int main(int argc, char **argv)
{
    bool json = false, brief = false;
    struct result r = {0};
    for (int i = 1; i < argc; i++) {
        json = json || !strcmp(argv[i], "--json");
        brief = brief || !strcmp(argv[i], "--short");
        if (!strcmp(argv[i], "--run") && i + 1 < argc)
            return run_only(argv[i + 1]);
    }
    measure(&r, argv[0], brief ? SWEEP_SHORT : SWEEP, !brief);
    say(&r, json);
    return r.score.wrong_accepted || r.resync > 1 || r.mallocs > 0;
}
