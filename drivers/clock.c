/* Clock: see clock.h. */
#include <time.h>

#include "drivers/clock.h"

uint64_t clock_monotonic_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000u + (uint64_t)t.tv_nsec / 1000u;
}
