/* Faults: every fault of every file, each as "FILE:LINE: what is wrong, what was expected", all in one run. */
#ifndef FILES_FAULTS_H
#define FILES_FAULTS_H

#include <stdio.h>

#define FAULTS_TEXT 16384

/* Zeroed before use. */
struct faults {
    unsigned count;
    unsigned left_out; /* of count: those that found no room in text */
    size_t len;
    char text[FAULTS_TEXT]; /* lines, each ended by \n; when full, the last says how many more there are */
};

/* Line 0: the fault is of the whole file ("FILE: ..."). The faults of one file stand in order of their lines. Bytes that
 * would upset a terminal are shown as '?'. */
void faults_add(struct faults *f, const char *file, unsigned line, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Writes all of it. */
void faults_print(const struct faults *f, FILE *to);

#endif
