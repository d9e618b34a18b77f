/* FNV-1a, 64 bits (its offset basis and prime as published by its authors), over figures field by field: layouts and
 * paddings of structs differ between the host and the target, their contents must not. */
#ifndef TESTS_ARM_HASH_H
#define TESTS_ARM_HASH_H

#include <stddef.h>
#include <stdint.h>

#define HASH_START UINT64_C(0xcbf29ce484222325)

static inline uint64_t hash_byte(uint64_t hash, uint8_t byte)
{
    return (hash ^ byte) * UINT64_C(0x100000001b3);
}

/* Eight bytes, lowest first, whatever the machine's own order is. */
static inline uint64_t hash_number(uint64_t hash, uint64_t value)
{
    for (unsigned k = 0; k < 8; k++)
        hash = hash_byte(hash, (uint8_t)(value >> (8 * k)));
    return hash;
}

static inline uint64_t hash_text(uint64_t hash, const char *text)
{
    while (*text)
        hash = hash_byte(hash, (uint8_t)*text++);
    return hash_byte(hash, 0);
}

#endif
