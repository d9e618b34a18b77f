/* Options: values that more than one command takes, read in one way. */
#ifndef CLI_OPTIONS_H
#define CLI_OPTIONS_H

#include <stdbool.h>
#include <stdint.h>

#include "core/mass.h"

struct option;

/* getopt_long's next option, -1 at their end. ':' also for one whose value would be the next option: "--journal --plain" is a
 * slip, and would else make a journal of that name. */
int option_next(int argc, char **argv, const struct option *options);
/* After '?' or ':': what is wrong, with the option's name. It stays until the next call. */
const char *option_wrong(int option);

/* Digits alone (no sign, no blank), from low to high. False: not of that form, or out of range; *out is untouched then. */
bool option_whole(const char *text, uint64_t low, uint64_t high, uint64_t *out);

/* One more --scale, and --meat. NULL, or what is wrong, for the command's usage line. scales holds CAP_SCALES texts, which
 * stay argv's. */
const char *option_scale(const char *value, const char **scales, uint8_t *count);
const char *option_meat(const char *value, bool *given, mass_pg *meat);

#endif
