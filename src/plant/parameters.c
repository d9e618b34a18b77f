/* Parameters: see parameters.h. */
#include "plant/parameters.h"

#include <math.h>

const struct parameter_row *parameter_row(enum parameter p)
{
    static const struct parameter_row rows[PARAMETER_COUNT] = {
#define X(name, unit, low, high, shape, reason) {#name, unit, low, high, shape, reason},
        PARAMETERS(X)
#undef X
    };
    return &rows[p];
}

double draw_even(struct random *r, double low, double high)
{
    return low + (high - low) * random_uniform(r);
}

double draw_log(struct random *r, double low, double high)
{
    return low * exp(log(high / low) * random_uniform(r));
}

double parameter_draw(enum parameter p, struct random *r)
{
    const struct parameter_row *row = parameter_row(p);
    switch (row->shape) {
    case LOG:
        return draw_log(r, row->low, row->high);
    case LOGNORMAL:
        return random_lognormal(r, row->low, row->high);
    default:
        return draw_even(r, row->low, row->high);
    }
}
