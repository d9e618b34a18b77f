/* Reports and registers; the dispatch between them. */
#include "core/decode_block.h"
#include "core/check_sum.h"

#define EXCEPTION 0x80 /* added to the function of a request that is refused */

static const struct {
    uint8_t unit;  /* that it is shown in; UNIT_NONE: it has several meanings */
    uint16_t many; /* of it, */
    int8_t shift;  /* times this power of ten */
} units[] = {
    {UNIT_NONE, 0, 0},                                                     /* the page's units count from 1 */
    {UNIT_MG, 1, 0},   {UNIT_G, 1, 0},   {UNIT_KG, 1, 0}, {UNIT_G, 2, -1}, /* carat */
    {UNIT_NONE, 0, 0},                                                     /* tael */
    {UNIT_GR, 1, 0},   {UNIT_GR, 24, 0},                                   /* pennyweight */
    {UNIT_KG, 1, 3},                                                       /* metric ton */
    {UNIT_NONE, 0, 0},                                                     /* avoirdupois ton: short or long */
    {UNIT_GR, 480, 0},                                                     /* troy ounce */
    {UNIT_OZ, 1, 0},   {UNIT_LB, 1, 0},
};
#define UNITS (sizeof units / sizeof *units)

static const uint8_t states[] = {
    READING_FAULT, /* none: the page's states count from 1 */
    READING_FAULT, READING_STABLE, READING_MOVING, READING_STABLE,
    READING_UNDER, READING_OVER,   READING_FAULT,  READING_FAULT,
};

/* count times `many` times 10^power of the unit; false if that is beyond a mass or finer than a picogram. */
static bool set_mass(struct reading *r, uint32_t count, uint16_t many, int power)
{
    mass_pg step = unit_pg((enum mass_unit)r->unit);

    r->places = power < 0 ? (uint8_t)-power : 0;
    for (; power < 0 && step % 10 == 0 && step > 0; power++) /* first, for room */
        step /= 10;
    if (many == 0 || step > INT64_MAX / many)
        return false;
    step *= many;
    for (; power > 0; power--) {
        if (step > INT64_MAX / 10)
            return false;
        step *= 10;
    }
    for (; power < 0; power++) {
        if (step % 10)
            return false;
        step /= 10;
    }
    if (step <= 0 || count > (uint64_t)(INT64_MAX / step))
        return false;
    r->step = step;
    r->mass = (mass_pg)count * step;
    return true;
}

/* States and units count from 1. A number beyond the tables is not guessed at. */
static enum decode_result decode_report(const struct profile *p, const uint8_t *bytes, uint8_t len, struct reading *out)
{
    struct reading r = {.basis = p->basis};
    uint8_t unit;

    if (len != REPORT_LENGTH || bytes[0] != p->block.report)
        return DECODE_BAD_LINE;
    if (bytes[1] == 0 || bytes[1] >= sizeof states || bytes[2] == 0 || bytes[2] >= UNITS)
        return DECODE_BAD_LINE;
    unit = bytes[2];
    r.state = states[bytes[1]];
    r.unit = units[unit].unit;
    if (r.state <= READING_MOVING && r.unit == UNIT_NONE)
        r.state = READING_UNIT;
    else if (r.state <= READING_MOVING && !set_mass(&r, (uint32_t)(bytes[4] | bytes[5] << 8), units[unit].many,
                                                    (int8_t)bytes[3] + units[unit].shift))
        return DECODE_BAD_LINE;
    *out = r;
    return DECODE_READING;
}

static uint16_t word_at(const uint8_t *data, uint8_t place)
{
    data += (size_t)place * 2;
    return (uint16_t)(data[0] << 8 | data[1]);
}

/* The weight's count without its sign. */
static uint32_t count_of(const struct profile_block *b, const uint8_t *data, bool *minus)
{
    uint32_t first = word_at(data, b->weight), second, value = first, top = 0x8000;

    if (b->words == 2) {
        second = word_at(data, (uint8_t)(b->weight + 1));
        value = b->low_first ? second << 16 | first : first << 16 | second;
        top = 0x80000000;
    }
    *minus = b->is_signed && (value & top);
    return *minus ? (top << 1) - value : value; /* for 32 bits top << 1 is 0, and the difference still right */
}

/* What the status register's bits say; false if it contradicts what is always so. */
static bool take_status(const struct profile *p, uint16_t status, struct reading *r, bool *minus)
{
    for (unsigned i = 0; i < p->bit_count; i++) {
        const struct profile_bit *b = &p->named[i];
        uint8_t byte = (uint8_t)(b->byte == 0 ? status >> 8 : status);
        bool is = (byte & b->mask) == b->value;

        if (b->kind == FIELD_LITERAL && !is)
            return false;
        if (!is)
            continue;
        if (b->kind == FIELD_STATUS && b->means > r->state)
            r->state = b->means;
        else if (b->kind == FIELD_BASIS)
            r->basis = b->means;
        else if (b->kind == FIELD_UNIT)
            r->unit = b->means;
        else if (b->kind == FIELD_WEIGHT)
            r->places = b->means;
        else if (b->kind == FIELD_SIGN)
            *minus = b->means;
    }
    return r->unit <= UNIT_GR && r->state <= READING_NOTYET;
}

/* An answer that is whole and right by its CRC; a CRC over a whole good frame with its own is 0, but this says why not. */
static bool crc_right(const uint8_t *bytes, uint8_t len)
{
    static const struct profile_check crc = {.method = SUM_CRC_MODBUS, .bits = 16, .raw = true, .low_first = true};
    const char *text = (const char *)bytes;

    return len > 2 && check_says(&crc, check_sum(&crc, text, (uint8_t)(len - 2)), text + len - 2);
}

static enum decode_result decode_registers(const struct profile *p, const uint8_t *bytes, uint8_t len,
                                           struct reading *out)
{
    const struct profile_block *b = &p->block;
    struct reading r = {.basis = p->basis, .unit = p->unit, .places = p->implied};
    uint32_t count;
    bool minus;

    if (len < REGISTERS_EXTRA || !crc_right(bytes, len) || (bytes[1] & EXCEPTION) || p->unit > UNIT_GR)
        return DECODE_BAD_LINE;
    if (bytes[1] != b->function)
        return DECODE_MORE;
    if (bytes[2] != 2 * b->count || len != REGISTERS_EXTRA + 2 * b->count || b->weight + b->words > b->count ||
        (b->has_status && b->status >= b->count))
        return DECODE_BAD_LINE;
    count = count_of(b, bytes + 3, &minus);
    if (b->has_status && !take_status(p, word_at(bytes + 3, b->status), &r, &minus))
        return DECODE_BAD_LINE;
    if (r.state <= READING_MOVING && r.unit == UNIT_NONE)
        r.state = READING_UNIT;
    else if (r.state <= READING_MOVING && !set_mass(&r, count, b->factor, -(int)r.places))
        return DECODE_BAD_LINE;
    r.mass = minus ? -r.mass : r.mass;
    *out = r;
    return DECODE_READING;
}

enum decode_result decode_block(const struct profile *p, const uint8_t *bytes, uint8_t len, struct reading *out)
{
    return p->form == FORM_REPORTS ? decode_report(p, bytes, len, out) : decode_registers(p, bytes, len, out);
}
