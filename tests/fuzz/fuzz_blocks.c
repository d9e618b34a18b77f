/* Reports and registers. The first bytes make up a profile, right or wrong in itself, since a table that points outside of
 * the answer must do no harm either; the rest is one whole block, and again the stream that a driver would hand over. */
#include <string.h>

#include "core/check_sum.h"
#include "core/decode_block.h"
#include "fuzz.h"

#define HEAD 16

static struct profile made_of(const uint8_t *d)
{
    struct profile p = {
        .form = d[0] & 1 ? FORM_REPORTS : FORM_REGISTERS,
        .unit = d[1] % (UNIT_GR + 2),
        .implied = d[2] % 20,
        .basis = d[2] % 3,
        .block = {.report = 3,
                  .function = d[0] & 2 ? 3 : 4,
                  .count = d[3],
                  .weight = d[4],
                  .status = d[5],
                  .has_status = d[6] & 1,
                  .words = d[6] & 2 ? 1 : 2,
                  .low_first = d[6] & 4,
                  .is_signed = d[6] & 8,
                  .factor = (uint16_t)(d[7] << 8 | d[8])},
        .bit_count = 1 + (d[9] & 1),
    };
    if (d[9] & 2) /* as it usually is, so that more than its refusal is reached */
        p.block.count = 3, p.block.weight = 0, p.block.status = 2, p.block.factor = 1;
    for (unsigned i = 0; i < p.bit_count; i++)
        p.named[i] = (struct profile_bit){d[10] >> 4 & 3, d[11], (uint8_t)(d[12] & d[11]),
                                          (uint8_t)(d[10 + i] % (FIELD_LINE + 1)), (uint8_t)(d[13 + i] % 9)};
    return p;
}

static void check_reading(const struct reading *r)
{
    MUST(r->basis <= UINT8_MAX && r->unit <= UNIT_GR);
    if (reading_has_weight(r))
        MUST(r->unit != UNIT_NONE && r->step > 0 && r->mass % r->step == 0);
    else
        MUST(r->mass == 0);
}

/* With a CRC that is right, else hardly an answer would get past it. */
static void answer(const struct profile *p, const uint8_t *data, size_t size)
{
    static const struct profile_check crc = {.method = SUM_CRC_MODBUS, .bits = 16, .raw = true, .low_first = true};
    char frame[PROFILE_LINE_MAX];
    struct reading r;

    if (size > PROFILE_LINE_MAX - 2)
        size = PROFILE_LINE_MAX - 2;
    memcpy(frame, data, size);
    check_write(&crc, check_sum(&crc, frame, (uint8_t)size), frame + size);
    if (decode_block(p, (const uint8_t *)frame, (uint8_t)(size + 2), &r) == DECODE_READING)
        check_reading(&r);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct decoder d;
    struct profile p;
    struct reading r;
    uint8_t len;

    if (size <= HEAD)
        return 0;
    p = made_of(data);
    data += HEAD;
    size -= HEAD;
    len = size < UINT8_MAX ? (uint8_t)size : UINT8_MAX;
    if (decode_block(&p, data, len, &r) == DECODE_READING)
        check_reading(&r);
    answer(&p, data, size);
    decoder_reset(&d);
    for (size_t i = 0; i < size; i++) {
        if (decode_byte(&p, &d, data[i], i + 1, i, &r) == DECODE_READING)
            check_reading(&r);
        MUST(d.len <= PROFILE_LINE_MAX && d.good + d.bad <= i + 1);
    }
    return 0;
}
