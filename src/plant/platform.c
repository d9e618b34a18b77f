/* Platform: see platform.h. */
#include "plant/platform.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

/* The spring from the frequency of the empty pan, the damping from its ratio: both stay what they are under a load. */
void platform_init(struct platform *p, double pan_g, double empty_hz, double ratio)
{
    double w = 2 * PI * empty_hz;
    memset(p, 0, sizeof *p);
    p->pan_g = pan_g;
    p->k = w * w * pan_g;
    p->c = 2 * ratio * w * pan_g;
    p->swings = -1;
}

static mass_pg transfer_step(struct transfer *t)
{
    mass_pg moved = t->left;
    if (moved > t->per_step)
        moved = t->per_step;
    if (moved < -t->per_step)
        moved = -t->per_step;
    t->left -= moved;
    return moved;
}

/* The forces beside the load's own weight. */
static double forces(struct platform *p)
{
    double f = p->push_g;
    if (p->bump_left) {
        f += p->bump_g * sin(PI * (double)p->bump_left / (double)p->bump_steps);
        p->bump_left--;
    }
    if (p->shake_left) {
        p->shake_rad = fmod(p->shake_rad + p->shake_rad_step, 2 * PI);
        f += p->shake_g * sin(p->shake_rad);
        p->shake_left--;
    }
    return f;
}

/* Leapfrog: speed at half steps, place at whole ones. Its energy does not creep, its error is of second order. */
static void swing(struct platform *p)
{
    double moving_g = p->pan_g + (double)p->load * 1e-12, half_drag = p->c * PLANT_STEP_S / 2;
    p->swings = p->load;
    p->keep = (moving_g - half_drag) / (moving_g + half_drag);
    p->push_step = p->k * PLANT_STEP_S / (moving_g + half_drag);
}

void platform_step(struct platform *p)
{
    if (p->hand.left)
        p->load += transfer_step(&p->hand);
    if (p->pour.left)
        p->load += transfer_step(&p->pour);
    if (p->load != p->swings)
        swing(p);
    double push = p->push_step * ((double)p->load * 1e-12 + forces(p) - p->felt_g);
    p->speed_g_s = p->keep * p->speed_g_s + push;
    p->felt_g += p->speed_g_s * PLANT_STEP_S;
}

/* A flow per step that moves the mass within so many steps. */
static mass_pg per_step(mass_pg mass, uint32_t steps)
{
    mass_pg size = mass < 0 ? -mass : mass;
    mass_pg flow = steps ? size / (mass_pg)steps : size;
    return flow > 0 ? flow : 1;
}

/* What will lie there once the hand has done with it, if `mass` comes on top: at least nothing, and no overflow, whatever
 * of the `pouring` mass has come by then. */
static bool fits(const struct platform *p, mass_pg mass, mass_pg pouring)
{
    mass_pg after, poured;
    if (add64(p->load, p->hand.left, &after) || add64(after, mass, &after) || add64(after, pouring, &poured))
        return false;
    return after >= 0 && poured >= 0;
}

bool platform_move(struct platform *p, mass_pg mass, uint32_t ms)
{
    if (!fits(p, mass, p->pour.left))
        return false;
    p->load += p->hand.left; /* the hand lets go of what it held before */
    p->hand.left = mass;
    p->hand.per_step = per_step(mass, ms);
    return true;
}

void platform_clear(struct platform *p, uint32_t ms)
{
    platform_stop(p);
    p->load += p->hand.left;
    p->hand.left = -p->load;
    p->hand.per_step = per_step(p->load, ms);
}

bool platform_pour(struct platform *p, mass_pg mass, mass_pg per_second)
{
    if (!fits(p, 0, mass))
        return false;
    p->pour.left = mass;
    p->pour.per_step = per_second / 1000 > 0 ? per_second / 1000 : 1;
    return true;
}

void platform_stop(struct platform *p)
{
    p->pour.left = 0;
}

bool platform_busy(const struct platform *p)
{
    return p->hand.left || p->pour.left || p->bump_left || p->shake_left;
}

void platform_bump(struct platform *p, mass_pg peak, uint32_t ms)
{
    p->bump_g = (double)peak * 1e-12;
    p->bump_steps = p->bump_left = ms ? ms : 1;
}

void platform_shake(struct platform *p, mass_pg amplitude, double hz, double seconds)
{
    p->shake_g = (double)amplitude * 1e-12;
    p->shake_rad = 0;
    p->shake_rad_step = 2 * PI * hz * PLANT_STEP_S;
    p->shake_left = (uint32_t)(seconds / PLANT_STEP_S);
}
