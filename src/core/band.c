/* Band: see band.h. Roundings go the careful way: a band never wider than given, a limit never passed. */
#include "core/band.h"

/* A scale at rest flickers by one division; two keep clear of the edge. */
#define EDGE_DIVISIONS 2

/* How far a side reaches from the exact target; rounded so that the band is never wider than it was given. */
static enum fail side_reach(mass_pg exact, const struct band_side *side, mass_pg *out)
{
    if (!side->is_mass)
        return share_of(exact, side->share, ROUND_DOWN, out);
    if (side->mass < 0)
        return FAIL_RANGE;
    *out = side->mass;
    return FAIL_NONE;
}

/* Rounded into the band, since nobody can aim between two divisions; the target itself is always good. */
static enum fail low_edge(mass_pg exact, const struct band_side *side, mass_pg division, mass_pg target, mass_pg *out)
{
    mass_pg low = target, reach;
    enum fail fail = FAIL_NONE;

    if (side->given) {
        fail = side_reach(exact, side, &reach);
        if (!fail)
            fail = mass_to_division(reach < exact ? exact - reach : 0, division, ROUND_UP, &low);
    }
    *out = low < target ? low : target;
    return fail;
}

static enum fail high_edge(mass_pg exact, const struct band_side *side, mass_pg division, mass_pg target, mass_pg *out)
{
    mass_pg high = target, reach;
    enum fail fail = FAIL_NONE;

    if (side->given) {
        fail = side_reach(exact, side, &reach);
        if (!fail)
            fail = add64(exact, reach, &high);
        if (!fail)
            fail = mass_to_division(high, division, ROUND_DOWN, &high);
    }
    *out = high > target ? high : target;
    return fail;
}

enum fail band_make(mass_pg exact, const struct band_spec *spec, mass_pg division, mass_pg limit, struct band *out)
{
    bool regulated = limit >= 0;
    struct band band = {0};
    enum fail fail;

    if (exact < 0)
        return FAIL_RANGE;
    fail = mass_to_division(exact, division, regulated ? ROUND_DOWN : ROUND_HALF_EVEN, &band.target);
    if (!fail && exact > 0 && band.target == 0) /* less than the scale can show: nothing could be weighed */
        fail = FAIL_RANGE;
    if (!fail)
        fail = low_edge(exact, &spec->under, division, band.target, &band.low);
    if (!fail)
        fail = high_edge(exact, &spec->over, division, band.target, &band.high);
    if (!fail && regulated) {
        mass_to_division(limit, division, ROUND_DOWN, &limit); /* can't fail: between 0 and limit */
        if (band.target > limit)
            return FAIL_RANGE;
        if (band.high > limit)
            band.high = limit;
    }
    if (!fail)
        *out = band;
    return fail;
}

mass_pg band_inside(const struct band *band, mass_pg division)
{
    mass_pg aim = band->high - EDGE_DIVISIONS * division;
    if (aim <= band->low)
        aim += division;
    if (aim < band->low)
        aim = band->high;
    return aim < band->target ? aim : band->target;
}

enum verdict band_judge(const struct band *band, mass_pg net)
{
    if (net > band->high)
        return VERDICT_OVER;
    return net < band->low ? VERDICT_UNDER : VERDICT_IN;
}
