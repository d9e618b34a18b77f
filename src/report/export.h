/* Export: the journal's entries for other programs, one a line (or row), in order of seq. */
#ifndef REPORT_EXPORT_H
#define REPORT_EXPORT_H

#include <stdio.h>

#include "store/store.h"

enum export_form {
    EXPORT_JSON, /* JSON Lines: seq, utc, kind, batch, person and the payload laid flat; masses in grams under _g keys */
    EXPORT_CSV,  /* RFC 4180 with a header row; always the same columns, empty where an entry has nothing to say */
};

/* The entries of a batch (NULL: all). STORE_NONE: there is no such batch; STORE_BROKEN: an entry's payload can't be read. The
 * caller looks at ferror(to). */
enum store_result export_entries(struct store *s, const char *batch, enum export_form form, FILE *to);

#endif
