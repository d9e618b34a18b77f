/* Masses and shares as text: what is read comes back the same. */
#include <string.h>

#include "core/share.h"
#include "fuzz.h"

static void check_back(mass_pg mass, enum mass_unit unit)
{
    char text[MASS_TEXT_MAX];
    size_t n = mass_format_unit(mass, unit, -1, text, sizeof text);
    mass_pg back;

    MUST(n > 0 && n == strlen(text));
    MUST(mass_parse(text, n, &back) == FAIL_NONE && back == mass);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;
    char buf[MASS_TEXT_MAX];
    struct share share;
    mass_pg mass, part;

    if (mass_parse(text, size, &mass) == FAIL_NONE) {
        check_back(mass, UNIT_KG);
        check_back(mass, UNIT_G);
        check_back(mass, UNIT_MG);
        for (enum mass_unit u = UNIT_KG; u <= UNIT_GR; u++)
            MUST(mass_format_unit(mass, u, (int)(size % 18) - 1, buf, sizeof buf) > 0);
    }
    if (share_from_decimal(text, size, 100, &share) == FAIL_NONE) {
        MUST(share.num <= INT32_MAX && share.den >= 1 && share.den <= INT32_MAX);
        MUST(share_of(100 * PG_PER_G, share, ROUND_DOWN, &part) != FAIL_ZERO);
    }
    return 0;
}
