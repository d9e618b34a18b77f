/* Clock: the one that never jumps. */
#ifndef DRIVERS_CLOCK_H
#define DRIVERS_CLOCK_H

#include <stdint.h>

/* Microseconds since some moment before the program's start. */
uint64_t clock_monotonic_us(void);

#endif
