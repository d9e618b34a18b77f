/* Unsafe: characters that do something to a terminal, or to how a line reads, other than being seen. */
#ifndef CORE_UNSAFE_H
#define CORE_UNSAFE_H

#include <stdbool.h>
#include <stdint.h>

/* Controls; then Unicode's marks of direction and joining (061C, 200B to 200F, 202A to 202E, 2066 to 2069 among invisible
 * operators), line and paragraph separators (2028, 2029), the byte order mark and annotation marks. */
static inline bool unsafe_character(uint32_t c)
{
    return c < 0x20 || (c >= 0x7F && c <= 0x9F) || c == 0x061C || (c >= 0x200B && c <= 0x200F) ||
           (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF || (c >= 0xFFF9 && c <= 0xFFFB);
}

#endif
