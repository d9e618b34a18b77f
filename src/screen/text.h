/* Text: appending to a caller's buffer, and making foreign text fit for a terminal.
 *
 * Names, lots and reasons come from files, keys and scanners. Before they reach a terminal every control character,
 * direction mark and byte that is not UTF-8 becomes '?': nothing in them can move the cursor or turn the line round. */
#ifndef SCREEN_TEXT_H
#define SCREEN_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/mass.h"

struct text {
    char *buf; /* always NUL-terminated */
    size_t cap, len;
    bool full; /* something did not fit; what did is whole characters */
};

void text_begin(struct text *t, char *buf, size_t cap);
/* Our own words: taken as they are. */
void text_put(struct text *t, const char *words);
/* Foreign text: cleaned. */
void text_clean(struct text *t, const char *foreign);
void text_number(struct text *t, int64_t value);
/* value / 1000 without needless zeros. */
void text_milli(struct text *t, int32_t value);
/* With its unit; places < 0: the shortest exact decimal. */
void text_mass(struct text *t, mass_pg mass, enum mass_unit unit, int places);
/* With its sign, also where it is positive, and its unit: "+0.35 g"; "0.00 g" where the figure shows nothing. */
void text_difference(mass_pg off, enum mass_unit unit, int places, char buf[MASS_TEXT_MAX]);

#define NOT_UTF8 UINT32_MAX
/* The character at *s, *s moved behind it; NOT_UTF8 (moved by one byte) for a byte that begins none; 0 at the end. */
uint32_t utf8_next(const char **s);
/* Writes the character (at most 4 bytes, no NUL); returns how many bytes. */
unsigned utf8_put(uint32_t c, char out[4]);
bool utf8_valid(const char *s);
/* True for what must never reach a terminal: controls (C0, DEL, C1), line and paragraph separators, direction marks. */
bool utf8_unsafe(uint32_t c);
/* True if nothing of it is unsafe. */
bool text_is_clean(const char *s);

#endif
