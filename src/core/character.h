/* Characters of foreign bytes: what is UTF-8 (RFC 3629), and what would do something to a terminal, or to how a line reads,
 * other than being seen. */
#ifndef CORE_CHARACTER_H
#define CORE_CHARACTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes of the character at the front of n >= 1 bytes; 0 if there is none: no over-long form, no surrogate, nothing above
 * U+10FFFF. Of a text that ends in NUL n may be 4 whatever is left of it. */
size_t character_len(const char *text, size_t n);
/* The code point of one of that length. */
uint32_t character_code(const char *text, size_t len);
/* Controls: C0, DEL, C1 (ISO/IEC 6429, from memory). */
bool character_controls(uint32_t c);
/* Those; then Unicode's marks of direction and joining (061C, 200B to 200F, 202A to 202E, 2066 to 2069 among invisible
 * operators), line and paragraph separators (2028, 2029), the byte order mark and annotation marks. */
bool character_unsafe(uint32_t c);

#endif
