/* Station and limits sections as they stand in their files. */
#ifndef FILES_STATION_RAW_H
#define FILES_STATION_RAW_H

#include "files/table.h"

struct raw_station {
    char name[CAP_NAME], jurisdiction[CAP_KEY], limits[256], people[256], language[4], lot_pattern[64];
    bool second_person;
    uint8_t accept; /* place in key|auto */
    uint32_t accept_ms;
    mass_pg container_max;
    char reasons[STATION_REASONS][CAP_REASON];
};
struct raw_limit {
    char substance[CAP_KEY], jurisdiction[CAP_KEY], product_class[CAP_KEY], source[CAP_NAME];
    uint8_t of; /* place in meat|total */
    struct share max;
};

/* What is wrong with a scale's plate: class, and capacity against division. NULL: nothing. *key: which. */
const char *scale_plate(const struct station_scale *s, const char **key);

#endif
