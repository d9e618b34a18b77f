/* Recording: bytes of a scale with their times, as a text file that people can read, cut and comment.
 *
 *     # tareline recording 1
 *     # any number of lines that say what was recorded, with what settings, and what happens in it
 *     0 53542C47532C2B ; ST,GS,+
 *     104170 53542C0D0A ; ST,<0D><0A>
 *     5000000 again
 *
 * A line is TIME HEX: microseconds since the first read, a blank, 1..64 bytes as pairs of hexadecimal digits. Times never
 * go back. Whatever follows " ;" is for people. "TIME again" (TIME of 1000 or more) starts the recording anew at that
 * moment, for ever; "TIME end" lets a silence at the end last that long. '#' lines and empty lines are passed over. A
 * line ends with LF or CR LF and has at most RECORDING_LINE bytes. */
#ifndef DRIVERS_RECORDING_H
#define DRIVERS_RECORDING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#define RECORDING_BYTES 64 /* of the scale in one line */
#define RECORDING_LINE 400
#define RECORDING_SHOWN 260 /* RECORDING_BYTES as recording_show writes them, with NUL */

enum recording_kind { RECORDING_NOTHING, RECORDING_DATA, RECORDING_AGAIN, RECORDING_END };
struct recording_line {
    uint8_t kind; /* enum recording_kind */
    uint8_t len;
    uint64_t at; /* microseconds */
    uint8_t bytes[RECORDING_BYTES];
};

/* One line without its line end. NULL, or what was expected, for "FILE:LINE: expected ...". */
const char *recording_parse(const char *text, size_t n, struct recording_line *out);
/* Writes bytes read at one moment, in as many lines as they need. False if the file did not take them. */
bool recording_write(FILE *to, uint64_t at, const uint8_t *bytes, size_t n);
/* Printable form of hostile bytes: what is not printable ASCII, and '<', as <XX>. buf holds 4 * n + 1. Returns its length. */
size_t recording_show(const uint8_t *bytes, size_t n, char *buf);

#endif
