/* Encode: what an indicator shows, as the bytes of one line by a scale profile: the inverse of src/core/decode. */
#ifndef PLANT_ENCODE_H
#define PLANT_ENCODE_H

#include "core/profile.h"

/* Writes the line with its terminator into buf (PROFILE_LINE_MAX bytes). Returns its length; 0 if the profile has no way
 * to say it: a state without a word, a unit it does not name, a figure too wide or with more decimals than it leaves
 * out. r->mass must be a whole number of r->step. */
uint8_t encode_line(const struct profile *p, const struct reading *r, char buf[PROFILE_LINE_MAX]);
/* The unit that a scale of this profile shows at power-on: its fixed one, else the first that it has a word for. */
enum mass_unit encode_unit(const struct profile *p);
/* True if its lines can name the unit. */
bool encode_has_unit(const struct profile *p, enum mass_unit unit);

#endif
