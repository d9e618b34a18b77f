/* Numbered: names that only say in which order adaptors were plugged in. After the next start such a name may be the other
 * scale's. */
#ifndef DRIVERS_NUMBERED_H
#define DRIVERS_NUMBERED_H

#include "drivers/driver.h"

/* True for a device text that names a port by its number: ttyUSB0, ttyACM0, also behind modbus:. A link that leads to one,
 * whatever it is called, is a name of its own. */
bool numbered_name(const char *device);
/* True if it does and more than one such port is there now, so that it may be any of them. why: one sentence that says so
 * and what to do, at most DRIVER_WHY bytes. */
bool numbered_in_doubt(const char *device, char *why);

#endif
