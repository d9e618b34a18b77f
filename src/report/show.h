/* Show: a batch record for people, and for programs. */
#ifndef REPORT_SHOW_H
#define REPORT_SHOW_H

#include <stdio.h>

#include "report/batch.h"

/* 80 columns of text, made to be handed to an inspector. */
void show_text(const struct batch_report *b, FILE *to);
/* One JSON object on one line; docs/journal.md lists its keys. False: no memory, or it did not fit. */
bool show_json(const struct batch_report *b, FILE *to);

#endif
