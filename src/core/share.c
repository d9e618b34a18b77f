/* Shares: see share.h. Reduced fractions of 31 bits each, so that a product of two still fits 64. */
#include <stdbool.h>

#include "core/share.h"

#define TERM_MAX ((uint64_t)INT32_MAX)

static uint64_t greatest_divisor(uint64_t a, uint64_t b)
{
    while (b) {
        uint64_t rest = a % b;

        a = b;
        b = rest;
    }
    return a;
}

enum fail share_make(uint64_t num, uint64_t den, struct share *out)
{
    uint64_t common;

    if (den == 0)
        return FAIL_ZERO;
    common = greatest_divisor(num, den);
    num /= common;
    den /= common;
    if (num > TERM_MAX || den > TERM_MAX)
        return FAIL_RANGE;
    *out = (struct share){(uint32_t)num, (uint32_t)den};
    return FAIL_NONE;
}

enum fail share_of_masses(mass_pg part, mass_pg whole, struct share *out)
{
    if (part < 0 || whole < 0)
        return FAIL_RANGE;
    return share_make((uint64_t)part, (uint64_t)whole, out);
}

/* The digits as one whole number and how many of them are decimals; zeros at the decimals' end don't count. */
static enum fail read_digits(const char *digits, size_t n, uint64_t *value, unsigned *places)
{
    bool point = false, any = false;
    uint64_t v = 0;
    unsigned p = 0, zeros = 0;

    for (size_t i = 0; i < n; i++) {
        if (digits[i] == '.' && !point) {
            point = true;
            continue;
        }
        if (digits[i] < '0' || digits[i] > '9')
            return FAIL_SYNTAX;
        any = true;
        if (point && digits[i] == '0') {
            zeros++; /* taken up only when another digit follows */
            continue;
        }
        for (p += point ? zeros + 1 : 0; zeros > 0; zeros--)
            v = v > INT64_MAX / 10 ? UINT64_MAX : v * 10;
        v = v > INT64_MAX / 10 ? UINT64_MAX : v * 10 + (uint64_t)(digits[i] - '0');
    }
    *value = v;
    *places = p;
    if (!any)
        return FAIL_SYNTAX;
    return v == UINT64_MAX ? FAIL_RANGE : FAIL_NONE;
}

enum fail share_from_decimal(const char *digits, size_t n, uint32_t over, struct share *out)
{
    uint64_t num, den = over;
    unsigned places;
    enum fail fail = read_digits(digits, n, &num, &places);

    if (fail)
        return fail;
    /* Ten is cancelled by twos and fives while they last: what then stays in den has no divisor in common with num but
     * those of `over`, so a den beyond 2^63 can't come back below 2^31. */
    for (; places > 0; places--) {
        uint64_t ten = 10;

        if (num % 2 == 0) {
            num /= 2;
            ten /= 2;
        }
        if (num % 5 == 0) {
            num /= 5;
            ten /= 5;
        }
        if (den > (uint64_t)INT64_MAX / ten)
            return FAIL_RANGE;
        den *= ten;
    }
    return share_make(num, den, out);
}

enum fail share_of(mass_pg mass, struct share share, enum rounding how, mass_pg *out)
{
    return muldiv(mass, share.num, share.den, how, out);
}

enum fail share_of_ratio(mass_pg mass, struct share a, struct share b, enum rounding how, mass_pg *out)
{
    if (b.den == 0)
        return FAIL_ZERO;
    return muldiv(mass, (uint64_t)a.num * b.den, (uint64_t)a.den * b.num, how, out);
}

enum fail share_micropercent(mass_pg part, mass_pg whole, int64_t *out)
{
    if (whole < 0)
        return FAIL_RANGE;
    return muldiv(part, UINT64_C(100000000), (uint64_t)whole, ROUND_HALF_EVEN, out);
}
