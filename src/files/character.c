/* Character: see character.h. */
#include "files/character.h"

#include "core/unsafe.h"

size_t character_len(const char *text, size_t n)
{
    const unsigned char *s = (const unsigned char *)text;
    if (s[0] < 0x80)
        return 1;
    size_t len = s[0] >= 0xc2 && s[0] <= 0xdf ? 2 : (s[0] & 0xf0) == 0xe0 ? 3 : s[0] >= 0xf0 && s[0] <= 0xf4 ? 4 : 0;
    if (!len || len > n)
        return 0;
    for (size_t i = 1; i < len; i++)
        if ((s[i] & 0xc0) != 0x80)
            return 0;
    bool too_long = (s[0] == 0xe0 && s[1] < 0xa0) || (s[0] == 0xf0 && s[1] < 0x90);
    bool surrogate = s[0] == 0xed && s[1] > 0x9f;
    bool beyond = s[0] == 0xf4 && s[1] > 0x8f;
    return too_long || surrogate || beyond ? 0 : len;
}

bool character_controls(const char *text)
{
    const unsigned char *s = (const unsigned char *)text;
    return s[0] < ' ' || s[0] == 0x7f || (s[0] == 0xc2 && s[1] <= 0x9f);
}

bool character_unsafe(const char *text, size_t len)
{
    const unsigned char *s = (const unsigned char *)text;
    uint32_t c = len == 1 ? s[0] : s[0] & (0x7fu >> len);
    for (size_t i = 1; i < len; i++)
        c = c << 6 | (s[i] & 0x3fu);
    return unsafe_character(c);
}
