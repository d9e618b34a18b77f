/* Options: see options.h. What a --scale text means is src/files' business. */
#include "cli/options.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "core/capacity.h"

bool option_whole(const char *text, uint64_t low, uint64_t high, uint64_t *out)
{
    char *end;
    if (*text < '0' || *text > '9') /* strtoull takes " -1" for a large number */
        return false;
    errno = 0;
    unsigned long long n = strtoull(text, &end, 10);
    if (*end || errno || n < low || n > high)
        return false;
    *out = n;
    return true;
}

const char *option_scale(const char *value, const char **scales, uint8_t *count)
{
    if (*count == CAP_SCALES)
        return "too many scales";
    scales[(*count)++] = value;
    return NULL;
}

const char *option_meat(const char *value, bool *given, mass_pg *meat)
{
    *given = true;
    if (mass_parse(value, strlen(value), meat) != FAIL_NONE || *meat <= 0)
        return "--meat wants a mass above zero with its unit, like 12.5kg or 40 lb";
    return NULL;
}
