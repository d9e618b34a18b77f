/* Characters of foreign bytes: what is UTF-8, and what would move a terminal. */
#ifndef FILES_CHARACTER_H
#define FILES_CHARACTER_H

#include <stdbool.h>
#include <stddef.h>

/* Bytes of the UTF-8 character (RFC 3629) at the front of n >= 1 bytes; 0 if there is none. */
size_t character_len(const char *s, size_t n);
/* Of a whole character: is it a control (C0, DEL, C1: ISO/IEC 6429, from memory); is it one of core/unsafe.h. */
bool character_controls(const char *s);
bool character_unsafe(const char *s, size_t len);

#endif
