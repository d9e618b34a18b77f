/* Options: values that more than one command takes, read in one way. */
#ifndef CLI_OPTIONS_H
#define CLI_OPTIONS_H

#include <stdbool.h>
#include <stdint.h>

#include "core/mass.h"

/* Digits alone (no sign, no blank), from low to high. False: not of that form, or out of range; *out is untouched then. */
bool option_whole(const char *text, uint64_t low, uint64_t high, uint64_t *out);

/* One more --scale, and --meat. NULL, or what is wrong, for the command's usage line. scales holds CAP_SCALES texts, which
 * stay argv's. */
const char *option_scale(const char *value, const char **scales, uint8_t *count);
const char *option_meat(const char *value, bool *given, mass_pg *meat);

#endif
