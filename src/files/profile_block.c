/* A scale profile without lines: reports or registers. */
#include <string.h>

#include "core/decode_block.h"
#include "files/profile_raw.h"

#define FUNCTION_HOLDING 3
#define FUNCTION_INPUT 4

static const struct section_kind *kind_of(const char *name)
{
    for (unsigned i = 0; i < scale_kind.section_count; i++)
        if (!strcmp(scale_kind.sections[i].name, name))
            return &scale_kind.sections[i];
    return NULL;
}

static void fault(const struct ini *doc, const struct ini_section *s, const char *key, const char *what)
{
    faults_add(doc->faults, doc->path, ini_line(doc, s, key), "%s", what);
}

/* Sections and keys that are about lines would stand there to no effect. */
static void lines_only(const struct ini *doc, const struct ini_section *scale, const struct ini_section *block)
{
    static const char *const sections[] = {"status", "basis", "unit", "sign", "lines", "check"};
    static const char *const keys[] = {"request", "end", "length", "units"};
    for (unsigned i = 0; i < doc->section_count; i++)
        for (unsigned k = 0; k < sizeof sections / sizeof *sections; k++)
            if (!strcmp(doc->sections[i].kind, sections[k]))
                faults_add(doc->faults, doc->path, doc->sections[i].line,
                           "[%s] is about lines, but the scale sends none; expected it left out beside [%s]",
                           sections[k], block->kind);
    for (unsigned k = 0; k < sizeof keys / sizeof *keys; k++)
        if (ini_find(doc, scale, keys[k]))
            faults_add(doc->faults, doc->path, ini_line(doc, scale, keys[k]),
                       "\"%s\" is about lines, but the scale sends none; expected it left out beside [%s]", keys[k],
                       block->kind);
}

static void read_reports(const struct ini *doc, const struct raw_scale *raw, struct profile *out,
                         const struct ini_section *scale, const struct ini_section *s)
{
    struct raw_reports r = {0};
    table_fill(kind_of("reports"), doc, s, NULL, &r);
    out->block.report = r.report;
    out->has_motion = true;
    if (raw->sends == SENDS_POLLED)
        fault(doc, scale, "sends", "reports can't be asked for; expected sends = continuous");
    if (raw->unit)
        fault(doc, scale, "unit", "a report says its unit itself; expected unit = line");
    if (out->bit_count)
        fault(doc, s, "report", "a report's status has no named bits; expected no [bits] section");
}

/* One request, from the lower of the two to the end of the higher. */
static void set_request(struct profile *out, uint32_t first)
{
    const struct profile_block *b = &out->block;
    const uint8_t pdu[] = {b->function, (uint8_t)(first >> 8), (uint8_t)first, 0, b->count};
    memcpy(out->request.bytes, pdu, sizeof pdu);
    out->request.len = sizeof pdu;
}

static void read_registers(const struct ini *doc, struct profile *out, const struct ini_section *s)
{
    struct raw_registers r = {0};
    struct profile_block *b = &out->block;
    table_fill(kind_of("registers"), doc, s, NULL, &r);
    b->has_status = ini_find(doc, s, "status") != NULL;
    uint32_t words = r.type >= 2 ? 2 : 1, weight_end = r.weight + words;
    uint32_t first = b->has_status && r.status < r.weight ? r.status : r.weight;
    uint32_t end = b->has_status && r.status >= weight_end ? r.status + 1u : weight_end;
    if (end - first > REGISTERS_MAX || end > 65536) {
        faults_add(doc->faults, doc->path, ini_line(doc, s, b->has_status ? "status" : "weight"),
                   "one request can't read them; expected weight and status within %d registers, none above 65535",
                   REGISTERS_MAX);
        return;
    }
    if (b->has_status && r.status >= r.weight && r.status < weight_end)
        fault(doc, s, "status", "the status register is one of the weight's; expected another");
    b->function = r.function ? FUNCTION_INPUT : FUNCTION_HOLDING;
    b->count = (uint8_t)(end - first);
    b->weight = (uint8_t)(r.weight - first);
    b->status = (uint8_t)(b->has_status ? r.status - first : 0);
    b->words = (uint8_t)words;
    b->is_signed = r.type == 0 || r.type == 2;
    b->low_first = r.order == 1;
    b->factor = r.factor;
    set_request(out, first);
}

static bool bits_say(const struct profile *p, enum field_kind kind)
{
    for (unsigned i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == kind)
            return true;
    return false;
}

static void check_registers(const struct ini *doc, const struct raw_scale *raw, const struct profile *p,
                            const struct ini_section *scale, const struct ini_section *s)
{
    if (raw->sends != SENDS_POLLED)
        fault(doc, scale, "sends", "registers are asked for; expected sends = polled");
    if (raw->silent <= raw->timeout)
        fault(doc, scale, "silent", "\"silent\" is not longer than \"timeout\"; expected a longer time");
    if (raw->bits != 8)
        fault(doc, scale, "bits", "Modbus RTU needs 8 data bits; expected bits = 8");
    if (!raw->unit && !bits_say(p, FIELD_UNIT))
        fault(doc, scale, "unit", "registers have no unit; expected the scale's fixed unit here, such as unit = g");
    if (raw->unit && bits_say(p, FIELD_UNIT))
        fault(doc, scale, "unit", "the unit is told by bits; expected unit = line");
    if (p->bit_count && !p->block.has_status)
        fault(doc, s, "weight", "there is a [bits] section, but no status register; expected \"status\" here");
    if (p->block.has_status && !p->bit_count)
        fault(doc, s, "status", "nothing is known of the status register's bits; expected a [bits] section");
    for (unsigned i = 0; i < p->bit_count; i++)
        if (p->named[i].byte > 1) {
            fault(doc, s, "status", "a status register has two bytes; expected patterns with 1: or 2:");
            break;
        }
}

void profile_block(const struct ini *doc, const struct raw_scale *raw, struct profile *out,
                   const struct ini_section *scale, const struct ini_section *block)
{
    lines_only(doc, scale, block);
    out->end_len = 0;
    if (raw->silent <= raw->period)
        fault(doc, scale, "silent", "\"silent\" is not longer than \"period\"; expected a longer time");
    if (out->form == FORM_REPORTS) {
        read_reports(doc, raw, out, scale, block);
        return;
    }
    read_registers(doc, out, block);
    check_registers(doc, raw, out, scale, block);
}
