/* Plan: the batch sheet of a formula before anything is weighed: targets, bands, the scale for each, limits. */
#ifndef STATION_PLAN_H
#define STATION_PLAN_H

#include "core/sequence.h"
#include "files/files.h"

struct plan_arguments {
    const char *formula, *station; /* station: NULL = none */
    const char *scales[CAP_SCALES];
    uint8_t scale_count;
    bool has_meat, json;
    mass_pg meat;
};
/* Prints the sheet. Returns the exit code: EXIT_NO if a regulated ingredient lies beyond its limit or no scale is fit for it. */
int station_plan(const struct plan_arguments *a);

/* The sheet's figures. */
struct plan {
    struct faults faults;
    struct file_text text; /* of the file being read */
    struct formula formula;
    struct station station;
    struct limit limits[CAP_INGREDIENTS];
    mass_pg cup_empty[CAP_INGREDIENTS], cup_off[CAP_INGREDIENTS];
    struct scale_setup scales[CAP_SCALES];
    struct setup setup;
    struct sequence seq; /* laid out as a weighing of it would be */
    struct item items[CAP_ITEMS];
    uint16_t order[CAP_ITEMS];
    mass_pg meat, total;
    mass_pg exact[CAP_INGREDIENTS]; /* unrounded targets */
    bool has_scales;                /* else one that is only there to round to */
    bool has_limits;                /* else there is no station to say whose law holds */
    uint8_t lang;
};

/* A regulated ingredient's dose against its limit. */
struct plan_dose {
    mass_pg most;                    /* of the ingredient */
    int64_t planned_hppm, most_hppm; /* of the substance in the limit's base, in hundredths of a ppm */
    bool within;
};
bool plan_dose(const struct plan *p, uint8_t ingredient, struct plan_dose *out);
/* The item of the k-th line of the sheet, in the order of weighing, or NULL after the last. */
const struct item *plan_line(const struct plan *p, unsigned k);
/* True if the line has a band to show: a regulated one has none while its limit is not known. */
bool plan_banded(const struct plan *p, const struct item *it);
enum fit plan_fit(const struct plan *p, const struct item *it);
void plan_print(const struct plan *p, FILE *to);
/* False: it did not fit the buffer. */
bool plan_json(const struct plan *p, char *buf, size_t cap);

#endif
