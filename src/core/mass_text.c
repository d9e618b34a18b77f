/* Mass to text, and to the divisions of a scale. */
#include <string.h>

#include "core/mass.h"

#define PLACES_MAX 15 /* decimals of a kilogram down to a picogram */

/* Digits of `whole`, most significant first; returns how many. */
static size_t put_whole(uint64_t whole, char *to)
{
    size_t n = 1, i;

    for (uint64_t rest = whole / 10; rest; rest /= 10)
        n++;
    for (i = n; i > 0; i--) {
        to[i - 1] = (char)('0' + whole % 10);
        whole /= 10;
    }
    return n;
}

/* Adds one to the last digit of a decimal that begins with a '0' to spare. */
static void count_up(char *text, size_t n)
{
    size_t i = n - 1;

    for (; text[i] == '9' || text[i] == '.'; i--)
        if (text[i] == '9')
            text[i] = '0';
    text[i]++;
}

/* size / one with `places` decimals, half-even. text[0] must be '0': it takes a carry. */
static size_t put_decimal(uint64_t size, uint64_t one, int places, char *text)
{
    uint64_t rest = size % one;
    size_t n = 1 + put_whole(size / one, text + 1);
    bool odd;

    if (places > 0)
        text[n++] = '.';
    for (int i = 0; i < places; i++) {
        rest *= 10;
        text[n++] = (char)('0' + rest / one);
        rest %= one;
    }
    odd = (text[n - 1] - '0') & 1;
    if (rest > one - rest || (rest == one - rest && odd))
        count_up(text, n);
    return n;
}

static size_t cut_zeros(const char *text, size_t n)
{
    while (text[n - 1] == '0')
        n--;
    return text[n - 1] == '.' ? n - 1 : n;
}

static bool all_zero(const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (text[i] != '0' && text[i] != '.')
            return false;
    return true;
}

/* Metric units: enough for every mass to be exact. A pound, an ounce or a grain is no power of ten of picograms, so a mass need
 * not come out in it: it is rounded at the twelfth decimal. */
static int places_for(enum mass_unit unit, int places)
{
    if (places < 0)
        return unit <= UNIT_MG ? PLACES_MAX : 12;
    return places > PLACES_MAX ? PLACES_MAX : places;
}

size_t mass_format(mass_pg mass, enum mass_unit unit, int places, char *buf, size_t cap)
{
    char text[MASS_TEXT_MAX] = "0";
    uint64_t size = mass < 0 ? 0 - (uint64_t)mass : (uint64_t)mass, one = (uint64_t)unit_pg(unit);
    size_t n, from;
    bool minus;

    if (one == 0)
        return 0;
    n = put_decimal(size, one, places_for(unit, places), text);
    if (places < 0)
        n = cut_zeros(text, n);
    from = text[0] == '0'; /* no carry came */
    minus = mass < 0 && !all_zero(text, n);
    if (n - from + minus + 1 > cap)
        return 0;
    if (minus)
        *buf++ = '-';
    memcpy(buf, text + from, n - from);
    buf[n - from] = '\0';
    return n - from + minus;
}

size_t mass_format_unit(mass_pg mass, enum mass_unit unit, int places, char *buf, size_t cap)
{
    size_t n = mass_format(mass, unit, places, buf, cap);
    const char *word = unit_text(unit);
    size_t len = word[0] ? (word[1] ? 2 : 1) : 0;

    if (n == 0 || n + 1 + len + 1 > cap)
        return 0;
    buf[n] = ' ';
    memcpy(buf + n + 1, word, len + 1);
    return n + 1 + len;
}

/* In a unit that it was not made for a division may have no end of decimals. */
int mass_places(mass_pg division, enum mass_unit unit)
{
    mass_pg one = unit_pg(unit), rest;
    int places = 0;

    if (one == 0 || division <= 0)
        return 0;
    for (rest = division % one; rest && places < 6; places++)
        rest = rest * 10 % one;
    return places;
}

enum fail mass_to_division(mass_pg mass, mass_pg division, enum rounding how, mass_pg *out)
{
    mass_pg quotient, rest;
    bool up;

    if (division <= 0)
        return FAIL_ZERO;
    quotient = mass / division;
    rest = mass % division;
    if (rest < 0) { /* C divides towards zero; here quotient and rest are those of the division below */
        quotient--;
        rest += division;
    }
    up = how == ROUND_UP && rest > 0;
    if (how == ROUND_HALF_EVEN)
        up = rest > division - rest || (rest == division - rest && quotient % 2);
    return up ? add64(mass, division - rest, out) : sub64(mass, rest, out);
}
