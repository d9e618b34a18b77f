/* Character: see character.h. */
#include "core/character.h"

size_t character_len(const char *text, size_t n)
{
    const unsigned char *s = (const unsigned char *)text;
    size_t len = s[0] < 0x80 ? 1 : s[0] < 0xc2 ? 0 : s[0] < 0xe0 ? 2 : s[0] < 0xf0 ? 3 : s[0] < 0xf5 ? 4 : 0;
    unsigned char low = s[0] == 0xe0 ? 0xa0 : s[0] == 0xf0 ? 0x90 : 0x80;  /* no over-long forms */
    unsigned char high = s[0] == 0xed ? 0x9f : s[0] == 0xf4 ? 0x8f : 0xbf; /* no surrogates, none above U+10FFFF */

    if (len > n || (len > 1 && (s[1] < low || s[1] > high)))
        return 0;
    for (size_t i = 2; i < len; i++)
        if (s[i] < 0x80 || s[i] > 0xbf)
            return 0;
    return len;
}

uint32_t character_code(const char *text, size_t len)
{
    const unsigned char *s = (const unsigned char *)text;
    uint32_t c = len <= 1 ? s[0] : s[0] & (0x7fu >> len);

    for (size_t i = 1; i < len; i++)
        c = c << 6 | (s[i] & 0x3fu);
    return c;
}

bool character_controls(uint32_t c)
{
    return c < 0x20 || (c >= 0x7f && c <= 0x9f);
}

bool character_unsafe(uint32_t c)
{
    return character_controls(c) || c == 0x061c || (c >= 0x200b && c <= 0x200f) || (c >= 0x2028 && c <= 0x202e) ||
           (c >= 0x2060 && c <= 0x206f) || c == 0xfeff || (c >= 0xfff9 && c <= 0xfffb);
}
