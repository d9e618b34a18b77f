/* Platform: the mechanics of a bench scale, a damped second-order system whose mass is pan plus load.
 *
 * Everything is expressed as the mass that the load cell feels, in grams: `felt` follows the load with
 *     (pan + load) felt'' = k (load + forces - felt) - c felt'
 * so a heavier load swings slower and longer. The true mass on the platform is exact (picograms) at each instant. */
#ifndef PLANT_PLATFORM_H
#define PLANT_PLATFORM_H

#include <stdbool.h>
#include <stdint.h>

#include "core/mass.h"

#define PLANT_STEP_S 0.001 /* the one fixed step of the simulation */

/* Mass on its way onto (or off) the platform at a steady flow. */
struct transfer {
    mass_pg left;     /* what is still to come; negative: to go */
    mass_pg per_step; /* > 0 */
};

struct platform {
    double pan_g, k, c; /* moving mass of the empty platform; stiffness and damping over it */
    double felt_g, speed_g_s;
    mass_pg swings;         /* the load that these two are for: */
    double keep, push_step; /* what a step leaves of the speed, and adds to it for each gram of force */
    mass_pg load;           /* the truth */
    struct transfer hand;   /* put and take */
    struct transfer pour;
    double bump_g; /* height of a half-sine knock */
    uint32_t bump_left, bump_steps;
    double shake_g, shake_rad, shake_rad_step; /* vibration of the bench as a force */
    uint32_t shake_left;
    double push_g; /* any other force, kept until it is set anew */
};

/* empty_hz: natural frequency of the empty platform (below 60); ratio: its damping ratio (0..1). */
void platform_init(struct platform *p, double pan_g, double empty_hz, double ratio);
void platform_step(struct platform *p);

/* Sets a thing down (mass > 0) or lifts it off (mass < 0) by hand, within `ms`. The truth never goes below nothing:
 * false, and nothing happens, if less than that is (or will be) there. */
bool platform_move(struct platform *p, mass_pg mass, uint32_t ms);
/* Everything off, within `ms`; what was being poured ends. */
void platform_clear(struct platform *p, uint32_t ms);
/* Pours mass (> 0; < 0: scooped away) at a flow (> 0) per second in place of what was being poured. False as above. */
bool platform_pour(struct platform *p, mass_pg mass, mass_pg per_second);
void platform_stop(struct platform *p);
/* True while something is on its way or the platform is shaken. */
bool platform_busy(const struct platform *p);

void platform_bump(struct platform *p, mass_pg peak, uint32_t ms);
void platform_shake(struct platform *p, mass_pg amplitude, double hz, double seconds);

#endif
