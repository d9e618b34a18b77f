/* Random numbers of the simulation: seeded, small, the same on every machine. Not for secrets.
 * The generator is splitmix64 (Steele, Lea, Flood 2014; constants from memory). */
#ifndef PLANT_RANDOM_H
#define PLANT_RANDOM_H

#include <stdint.h>

struct random {
    uint64_t state;
};

void random_seed(struct random *r, uint64_t seed);
uint64_t random_bits(struct random *r);
/* 0 <= x < 1. */
double random_uniform(struct random *r);
/* Mean 0, deviation 1: the sum of four uniforms, so never beyond +/-3.46. Needs no libm. */
double random_normal(struct random *r);
/* Log-normal with this median; sigma is the deviation of the logarithm. */
double random_lognormal(struct random *r, double median, double sigma);

#endif
