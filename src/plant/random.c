/* Random: see random.h. The same seed gives the same run on every machine. */
#include "plant/random.h"

#include <math.h>

void random_seed(struct random *r, uint64_t seed)
{
    r->state = seed;
}

uint64_t random_bits(struct random *r)
{
    uint64_t z = r->state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

double random_uniform(struct random *r)
{
    return (double)(random_bits(r) >> 11) * 0x1p-53; /* the 53 bits that a double holds */
}

/* Four uniforms of 16 bits from one draw: near enough to normal, and never further out than 3.5 deviations. */
double random_normal(struct random *r)
{
    uint64_t z = random_bits(r);
    double sum = 0;
    for (int i = 0; i < 4; i++, z >>= 16)
        sum += (double)(z & 0xffff) * 0x1p-16;
    /* Four uniforms have mean 2 and variance 1/3. */
    return (sum - 2.0) * 1.7320508075688772;
}

double random_lognormal(struct random *r, double median, double sigma)
{
    return median * exp(sigma * random_normal(r));
}
