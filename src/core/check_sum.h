/* Check sum: what a frame says about its own bytes.
 *
 * The CRCs, each with 16 bits and no final xor (in the usual catalogues' words):
 *   modbus  polynomial 0x8005 reflected (0xA001), start 0xFFFF: MODBUS over Serial Line V1.02, 6.2.2
 *   ccitt   polynomial 0x1021, start 0xFFFF
 *   xmodem  polynomial 0x1021, start 0 */
#ifndef CORE_CHECK_SUM_H
#define CORE_CHECK_SUM_H

#include "core/profile.h"

#define CHECK_TEXT 4 /* bytes of the longest one */

/* What is sent for these bytes: complemented and cut to its bits as the profile says. */
uint16_t check_sum(const struct profile_check *c, const char *bytes, uint8_t n);
/* Bytes that it takes in a line: 1 or 2 raw, 2 or 4 digits; 0 if there is none. */
uint8_t check_width(const struct profile_check *c);
/* As it stands in a line: check_width bytes into out, digits in upper case. */
void check_write(const struct profile_check *c, uint16_t value, char out[CHECK_TEXT]);
/* True if the check_width bytes at `at` say this value. */
bool check_says(const struct profile_check *c, uint16_t value, const char *at);

#endif
