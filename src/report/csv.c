/* CSV: see csv.h. */
#include <string.h>

#include "report/csv.h"

/* Quoted where a comma, a quote or an end of line stands in it; a quote is doubled. */
static void write_cell(FILE *to, const char *text)
{
    if (!text[strcspn(text, ",\"\r\n")]) {
        fputs(text, to);
        return;
    }
    putc('"', to);
    for (const char *p = text; *p; p++) {
        if (*p == '"')
            putc('"', to);
        putc(*p, to);
    }
    putc('"', to);
}

void csv_row(FILE *to, const char *const cells[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            putc(',', to);
        write_cell(to, cells[i] ? cells[i] : "");
    }
    fputs("\r\n", to);
}
