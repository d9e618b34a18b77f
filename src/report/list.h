/* List: the batches of a journal, oldest first. */
#ifndef REPORT_LIST_H
#define REPORT_LIST_H

#include <stdio.h>

#include "store/store.h"

enum list_form {
    LIST_TEXT, /* a table of 80 columns */
    LIST_JSON, /* one object a line: batch, formula, formula_name, state, person, started, newest, first_seq, last_seq */
    LIST_CSV,  /* the same as RFC 4180 rows with a header */
};

/* *count: how many there are. */
enum store_result list_batches(struct store *s, enum list_form form, FILE *to, int64_t *count);
/* The newest batch's id; "" if there is none. */
enum store_result list_newest(struct store *s, char batch[STORE_BATCH]);

#endif
