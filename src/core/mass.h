/* Mass: a signed 64-bit count of picograms.
 *
 * Reach +/-9,223 kg. Exact: kg, g, mg; and to three decimals the pound (453.59237 g), ounce (28.349523125 g) and grain
 * (64.79891 mg), and eighths of an ounce. Source of the factors: NIST SP 811, Appendix B.8 and its footnotes (the
 * international pound is exact by definition; ounce = lb/16, grain = lb/7000).
 * Text to mass and back is exact decimal arithmetic. */
#ifndef CORE_MASS_H
#define CORE_MASS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/fail.h"
#include "core/muldiv.h"

typedef int64_t mass_pg;

#define PG_PER_MG INT64_C(1000000000)
#define PG_PER_G INT64_C(1000000000000)
#define PG_PER_KG INT64_C(1000000000000000)
#define PG_PER_LB INT64_C(453592370000000)
#define PG_PER_OZ INT64_C(28349523125000)
#define PG_PER_GR INT64_C(64798910000)
#define MASS_TEXT_MAX 40 /* any mass as text with its unit and NUL fits */

enum mass_unit { UNIT_NONE, UNIT_KG, UNIT_G, UNIT_MG, UNIT_LB, UNIT_OZ, UNIT_GR };

/* Picograms in one of the unit; 0 for UNIT_NONE. */
mass_pg unit_pg(enum mass_unit unit);
/* "kg", "g", "mg", "lb", "oz", "gr"; "" for UNIT_NONE. */
const char *unit_text(enum mass_unit unit);
/* The unit that these n bytes name (exactly, lower or upper case), or UNIT_NONE. */
enum mass_unit unit_from_text(const char *text, size_t n);

/* A decimal and a unit: "12.5 kg", "340g", "-3 oz", "3 lb 4.5 oz" (whole pounds, then less than a pound of ounces; one
 * sign before both). Blanks (space, tab) around and between are allowed. The decimal sign is '.'; no exponent, no grouping.
 * A bare number is FAIL_UNIT. FAIL_SYNTAX, FAIL_RANGE, FAIL_INEXACT (finer than a picogram); *out untouched then. */
enum fail mass_parse(const char *text, size_t n, mass_pg *out);

/* digits (an unsigned decimal like "0012.340", ".5" or "5."; no sign, no blanks) times one unit. Any number of digits.
 * Same errors as mass_parse. */
enum fail mass_from_decimal(const char *digits, size_t n, bool negative, enum mass_unit unit, mass_pg *out);

/* Writes the mass in the unit with `places` decimals (0..15), rounded half-even; with places < 0 the shortest exact
 * decimal (metric units only; for lb, oz, gr it is cut to 12 places, half-even). No unit text is added.
 * What rounds to zero has no sign. Returns the length without NUL; 0 if cap is too small (MASS_TEXT_MAX always
 * suffices) or the unit is UNIT_NONE. */
size_t mass_format(mass_pg mass, enum mass_unit unit, int places, char *buf, size_t cap);
/* The same followed by a blank and the unit: "12.345 kg". */
size_t mass_format_unit(mass_pg mass, enum mass_unit unit, int places, char *buf, size_t cap);

/* Decimals needed to show multiples of `division` exactly in the unit, at most 6 (0.005 kg -> 3; 0.01 g -> 2). */
int mass_places(mass_pg division, enum mass_unit unit);

/* The multiple of `division` (> 0) next to the mass, as asked. FAIL_ZERO if division <= 0; FAIL_RANGE. */
enum fail mass_to_division(mass_pg mass, mass_pg division, enum rounding how, mass_pg *out);

#endif
