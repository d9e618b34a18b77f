/* Amounts in the trade's own words, into exact shares. Each returns NULL or what is wrong; *out is untouched then. */
#ifndef FILES_AMOUNT_H
#define FILES_AMOUNT_H

#include "files/table.h"

/* "1.6 % of meat", "1.2 % of total", "500 ppm of meat", "2.5 g per kg of meat", "340 g for 11.34 kg of meat",
 * "1 bag of 2 lb for 50 lb of meat". Of the total only percent (at most six places) and ppm (at most two). */
const char *amount_take(const char *value, struct amount *out);
/* "0.25 oz per 100 lb", "156.25 ppm", "0.0156 %". */
const char *limit_take(const char *value, struct share *out);
/* "6.25 %", above 0 and at most 100 %. */
const char *percent_take(const char *value, struct share *out);
/* "2 %" of the target or "5 g", zero allowed, at most 100 %. */
const char *band_take(const char *value, struct band_side *out);
/* A mass, with what is wrong in words. */
const char *mass_take(const char *value, size_t n, mass_pg *out);
/* True if the share is a percentage of at most six places: what a share of the total must be. */
bool share_six_places(struct share s);

#endif
