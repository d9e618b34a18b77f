/* Ports: what is plugged in that could be a scale, each by the name that stays with it. */
#ifndef DRIVERS_PORTS_H
#define DRIVERS_PORTS_H

#include "drivers/driver.h"

#define PORTS_MOST 16
#define PORTS_DEVICE 256
#define PORTS_WHAT 120
#define PORTS_BY_ID "/dev/serial/by-id"

struct port_found {
    char device[PORTS_DEVICE]; /* a device text */
    char what[PORTS_WHAT];     /* what it says of itself, printable; and what its name goes with */
    bool reports;              /* a HID scale; else a serial port */
};

/* At most PORTS_MOST. A USB adaptor with a serial number of its own by its name under /dev/serial/by-id, any other by its
 * socket under /dev/serial/by-path, where these are; a port of the board by its own. Opens nothing; uses the heap. */
unsigned ports_list(struct port_found out[PORTS_MOST]);
/* True if the path leads to an adaptor beside which another one is plugged in that calls itself the same: their one link
 * under by-id leads to either of them. Opens nothing; uses the heap. */
bool ports_twins(const char *device);

#endif
