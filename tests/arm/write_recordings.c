/* Writes the recordings of tests/replay as C (recordings.h), those whose profile fits the small board's capacities:
 *     write-recordings WORDS BITS BLOCKS > recordings.c
 * The others are named on standard error. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/arm/recordings.h"
#include "tests/replay/load.h"

static struct recorded now;

static void bytes(const void *from, unsigned n)
{
    for (unsigned k = 0; k < n; k++)
        printf("%s%u", k ? "," : "{", ((const unsigned char *)from)[k]);
    printf("%s", n ? "}" : "{0}");
}

static void command(const char *name, const struct profile_command *c)
{
    printf(" .%s = {%u, ", name, c->len);
    bytes(c->bytes, c->len);
    puts("},");
}

static void fields(const struct profile *p)
{
    puts(" .fields = {");
    for (unsigned k = 0; k < p->field_count; k++) {
        const struct profile_field *f = &p->fields[k];
        printf("  {%u, %u, %u, %u, ", f->kind, f->width, f->len, f->digits);
        bytes(f->text, f->len);
        puts("},");
    }
    puts(" },");
}

static void words(const struct profile *p)
{
    if (p->word_count)
        puts(" .words = {");
    for (unsigned k = 0; k < p->word_count; k++) {
        const struct profile_word *w = &p->words[k];
        printf("  {%u, %u, %u, ", w->kind, w->means, w->len);
        bytes(w->text, w->len);
        puts("},");
    }
    if (p->word_count)
        puts(" },");
}

static void named(const struct profile *p)
{
    if (p->bit_count)
        puts(" .named = {");
    for (unsigned k = 0; k < p->bit_count; k++) {
        const struct profile_bit *b = &p->named[k];
        printf("  {%u, %u, %u, %u, %u},\n", b->byte, b->mask, b->value, b->kind, b->means);
    }
    if (p->bit_count)
        puts(" },");
}

static void profile(unsigned id, const struct profile *p)
{
    printf("static const struct profile profile%u = {\n .name = \"%s\", .form = %u,\n", id, p->name, p->form);
    printf(" .baud = %" PRIu32 ", .bits = %u, .stop = %u, .parity = %u, .flow = %u,\n", p->baud, p->bits, p->stop,
           p->parity, p->flow);
    printf(" .sends = %u, .length = %u, .end_len = %u, .end = ", p->sends, p->length, p->end_len);
    bytes(p->end, p->end_len);
    puts(",");
    command("request", &p->request);
    command("tare", &p->tare);
    command("zero", &p->zero);
    command("units", &p->units);
    printf(" .period_ms = %" PRIu32 ", .timeout_ms = %" PRIu32 ", .silent_ms = %" PRIu32 ",\n", p->period_ms,
           p->timeout_ms, p->silent_ms);
    printf(" .unit = %u, .decimal = %u, .implied = %u, .zeros = %d, .minus = %u, .basis = %u, .has_motion = %d,\n",
           p->unit, (unsigned char)p->decimal, p->implied, p->zeros, p->minus, p->basis, p->has_motion);
    printf(" .check = {%u, %u, %u, %d, %d},\n", p->check.method, p->check.bits, p->check.negated, p->check.raw,
           p->check.low_first);
    printf(" .field_count = %u, .word_count = %u, .bit_count = %u,\n", p->field_count, p->word_count, p->bit_count);
    fields(p);
    words(p);
    named(p);
    puts("};");
}

static struct recorded_read reads[LOAD_BYTES];
static uint8_t brought[LOAD_BYTES];

/* The recording as the replay takes it. */
static struct recording recording_of_now(void)
{
    struct recording r = {.profile = &now.profile, .division = now.division, .reads = reads, .bytes = brought};
    for (uint32_t k = 0, n = 1; k < now.count; k++, n++) {
        brought[k] = now.moments[k].byte;
        if (k + 1 == now.count || now.moments[k + 1].at != now.moments[k].at) {
            reads[r.read_count++] = (struct recorded_read){(uint32_t)(now.moments[k].at - 1), (uint16_t)n};
            n = 0;
        }
    }
    return r;
}

static void moments(unsigned id, const struct recording *r)
{
    printf("static const uint8_t bytes%u[] = {", id);
    for (uint32_t k = 0; k < now.count; k++)
        printf("%s%u,", k % 32 ? "" : "\n ", brought[k]);
    printf("\n};\nstatic const struct recorded_read reads%u[] = {\n", id);
    for (uint32_t k = 0; k < r->read_count; k++)
        printf(" {%" PRIu32 ", %u},\n", reads[k].at, reads[k].count);
    puts("};");
}

static bool fits(const struct profile *p, char **caps)
{
    return p->word_count <= atoi(caps[0]) && p->bit_count <= atoi(caps[1]) && (p->form == FORM_LINES || atoi(caps[2]));
}

int main(int argc, char **argv)
{
    static char names[LOAD_NAMES][CAP_KEY];
    static struct recording kept[LOAD_NAMES];
    unsigned n = load_names(names), count = 0;
    if (argc != 4) {
        fputs("usage: write-recordings WORDS BITS BLOCKS\n", stderr);
        return 2;
    }
    puts("#include \"tests/arm/recordings.h\"\n");
    for (unsigned k = 0; k < n; k++) {
        load(names[k], &now);
        if (!fits(&now.profile, argv + 1)) {
            fprintf(stderr, "not on the small board: %s\n", names[k]);
            continue;
        }
        struct recording *r = &kept[count];
        *r = recording_of_now();
        r->name = names[k];
        r->expected = replay_recording(r);
        profile(count, &now.profile);
        moments(count++, r);
    }
    puts("const struct recording recordings[] = {");
    for (unsigned k = 0; k < count; k++)
        printf(" {\"%s\", &profile%u, INT64_C(%" PRId64 "), reads%u, %" PRIu32 ", bytes%u, {UINT64_C(%" PRIu64
               "), %" PRIu32 "}},\n",
               kept[k].name, k, kept[k].division, k, kept[k].read_count, k, kept[k].expected.hash,
               kept[k].expected.count);
    puts(" {0},\n};");
    return 0;
}
