/* Decode block: what comes whole and not as a line, into a reading. In a stream of bytes (a driver's, a recording's) each
 * block stands behind its length, one byte; a length of 0 is passed over.
 *
 * FORM_REPORTS: the data report of the USB HID weighing page 0x8D in its usual layout of 6 bytes: report id, status 1..8,
 * unit 1..12, power of ten (two's complement), weight (low byte first, without sign). Source: USB-IF, HID Usage Tables,
 * Weighing Devices page, and HID Point of Sale Usage Tables 1.02. The descriptor by which a device may lay it out in
 * another way is not read: so the id and the length must be as expected, or the report is refused.
 *  - Status: 1 fault, 2 stable at zero, 3 in motion, 4 stable, 5 under zero, 6 over capacity, 7 and 8 not calibrated or
 *    not zeroed (READING_FAULT). Only 2, 3 and 4 carry a weight: the field has no sign, so "under zero" is none.
 *  - Unit: milligram, gram, kilogram, ounce, pound and grain as they are. Carat (0.2 g) is shown in grams, metric ton in
 *    kilograms, pennyweight (24 grains) and troy ounce (480 grains) in grains: exact. Tael and "ton" have several
 *    meanings: READING_UNIT.
 *
 * FORM_REGISTERS: the answer to a Modbus RTU request for registers, whole: address, function, byte count, registers high
 * byte first, CRC low byte first. Source: MODBUS Application Protocol 1.1b, 6.3 and 6.4; MODBUS over Serial Line 1.02.
 * A wrong CRC, an exception, another length: DECODE_BAD_LINE. An answer to another function (a tare or zero command was
 * taken): DECODE_MORE. */
#ifndef CORE_DECODE_BLOCK_H
#define CORE_DECODE_BLOCK_H

#include "core/decode.h"

#define REPORT_LENGTH 6
#define REGISTERS_EXTRA 5 /* bytes of an answer beside its registers */
#define REGISTERS_MAX 28  /* registers of one request: the answer with its length fits a line's buffer */

/* One whole block without its length. Times are left 0. DECODE_READING, DECODE_BAD_LINE or DECODE_MORE; *out is set only
 * for DECODE_READING. */
enum decode_result decode_block(const struct profile *p, const uint8_t *bytes, uint8_t len, struct reading *out);

#endif
