/* Child: a program that the operator runs, with a pipe to its standard input and one from its standard output. */
#ifndef DEMO_CHILD_H
#define DEMO_CHILD_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#define CHILD_LINE 1024

struct child {
    pid_t pid;
    int to, from; /* -1: closed */
    size_t len;
    char buffer[8 * CHILD_LINE];
};

/* False if it can't be started. It ends when we do. */
bool child_start(struct child *c, char *const argv[]);
/* Writes the line and its end. */
void child_say(struct child *c, const char *line);
/* Reads what is there; call when poll says so. */
void child_fill(struct child *c);
/* The next whole line without its end; false if there is none yet. */
bool child_line(struct child *c, char line[CHILD_LINE]);
/* Waits for it; its exit code, or -1. */
int child_end(struct child *c);

#endif
