/* CSV: rows of RFC 4180. */
#ifndef REPORT_CSV_H
#define REPORT_CSV_H

#include <stddef.h>
#include <stdio.h>

/* Writes a row with its CRLF; a NULL cell is empty. */
void csv_row(FILE *to, const char *const cells[], size_t count);

#endif
