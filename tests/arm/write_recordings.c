/* Writes the recordings of tests/replay as C (recordings.h), those whose profile fits the small board's capacities:
 *     write-recordings WORDS BITS BLOCKS > recordings.c
 * The others are named on standard error. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

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

/* Its bytes, and the reads that brought them. */
static void moments(unsigned id)
{
    unsigned reads = 0;
    printf("static const uint8_t bytes%u[] = {", id);
    for (uint32_t k = 0; k < now.count; k++)
        printf("%s%u,", k % 32 ? "" : "\n ", now.moments[k].byte);
    printf("\n};\nstatic const struct recorded_read reads%u[] = {\n", id);
    for (uint32_t k = 0, n = 1; k < now.count; k++, n++)
        if (k + 1 == now.count || now.moments[k + 1].at != now.moments[k].at) {
            printf(" {%" PRIu64 ", %" PRIu32 "},\n", now.moments[k].at - 1, n);
            reads++;
            n = 0;
        }
    printf("};\n#define READS%u %u\n", id, reads);
}

int main(int argc, char **argv)
{
    static char names[LOAD_NAMES][CAP_KEY];
    static mass_pg divisions[LOAD_NAMES];
    unsigned n = load_names(names), kept = 0;
    if (argc != 4) {
        fputs("usage: write-recordings WORDS BITS BLOCKS\n", stderr);
        return 2;
    }
    puts("#include \"tests/arm/recordings.h\"\n");
    for (unsigned k = 0; k < n; k++) {
        load(names[k], &now);
        const struct profile *p = &now.profile;
        if (p->word_count > atoi(argv[1]) || p->bit_count > atoi(argv[2]) ||
            (p->form != FORM_LINES && !atoi(argv[3]))) {
            fprintf(stderr, "not on the small board: %s (%u words, %u bits%s)\n", names[k], p->word_count, p->bit_count,
                    p->form == FORM_LINES ? "" : ", blocks");
            continue;
        }
        profile(kept, p);
        moments(kept);
        divisions[kept] = now.division;
        snprintf(names[kept++], CAP_KEY, "%s", now.name);
    }
    puts("const struct recording recordings[] = {");
    for (unsigned k = 0; k < kept; k++)
        printf(" {\"%s\", &profile%u, INT64_C(%" PRId64 "), reads%u, READS%u, bytes%u},\n", names[k], k, divisions[k],
               k, k, k);
    puts(" {0},\n};");
    return 0;
}
