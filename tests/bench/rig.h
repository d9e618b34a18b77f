/* Rig: what the benches share. Programs under a pseudo-terminal, a scale's line, clocks, medians. */
#ifndef TESTS_BENCH_RIG_H
#define TESTS_BENCH_RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#define BAUD_BYTE_NS 1041667 /* one byte of 10 bits at 9600 baud */

uint64_t clock_ns(void);
void sleep_until(uint64_t at_ns);
/* Sorts v. */
double median(double *v, size_t n);
struct quartiles {
    double lower, middle, upper;
};
/* Sorts v; n >= 4. The lower and upper one are the medians of what lies below and above the middle. */
struct quartiles quartiles(double *v, size_t n);
/* Ends the bench with a sentence; what it started is ended with it. */
_Noreturn void give_up(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A raw pseudo-terminal that plays the scale's line: master descriptor (never waits) and the slave's path. */
struct wire {
    int master;
    char path[64];
};
void wire_open(struct wire *w);
void wire_send(const struct wire *w, const char *bytes, size_t n);

/* A program whose terminal is ours. */
struct program {
    pid_t pid;
    int terminal; /* master, never waits */
    uint64_t started_ns;
    size_t shown;         /* bytes it has written so far */
    size_t kept;          /* of them in tail */
    char tail[16 * 1024]; /* what it wrote since the last program_forget */
};
/* 80x24. env: NULL or one more NAME=VALUE. Its standard error goes to the file errors. */
void program_start(struct program *p, const char *const argv[], const char *env, const char *errors);
/* Reads what it has written; waits for it at most timeout_ms. False: nothing came. */
bool program_read(struct program *p, int timeout_ms);
void program_forget(struct program *p);
/* Waits until it has written this text since program_forget: the moment after the read that brought it, 0 if it did not
 * come within 2 s. */
uint64_t program_wrote(struct program *p, const char *text);
/* Asks it to end (SIGTERM), reads what it still says, waits for it. */
void program_end(struct program *p);
/* A "Name: value kB" figure of /proc/PID/status, in kB. */
long program_status(const struct program *p, const char *name);
/* Nanoseconds of processor time it has had. */
uint64_t program_cpu_ns(const struct program *p);

/* Counts the system calls of p while work(context) runs in a process of its own. */
long program_calls(struct program *p, void (*work)(void *context), void *context);

#endif
