/* Faults: every fault of every file, each as "FILE:LINE: what is wrong, what was expected", all in one run. */
#ifndef FILES_FAULTS_H
#define FILES_FAULTS_H

#include <stdio.h>

#define FAULTS_TEXT 16384

struct faults {
    unsigned count;
    size_t len;
    char text[FAULTS_TEXT]; /* lines, each ended by \n; when full, the last says how many more there are */
};

void faults_add(struct faults *f, const char *file, unsigned line, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Writes all of it. */
void faults_print(const struct faults *f, FILE *to);

#endif
