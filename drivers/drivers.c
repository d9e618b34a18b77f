/* The list of drivers. A new one is one file and one line here. */
#include <stdio.h>
#include <string.h>

#include "drivers/driver.h"

extern const struct driver driver_serial, driver_tty, driver_tcp, driver_hid, driver_modbus, driver_replay;

/* No two of them claim the same text, so their order is only that of --help. */
const struct driver *const drivers[] = {&driver_serial, &driver_tty,    &driver_tcp, &driver_hid,
                                        &driver_modbus, &driver_replay, NULL};

const struct driver *driver_for(const char *device)
{
    for (const struct driver *const *d = drivers; *d; d++)
        if ((*d)->claims(device))
            return *d;
    return NULL;
}

enum driver_result port_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    const struct driver *driver = driver_for(device);
    memset(p, 0, sizeof *p);
    p->fd = -1;
    if (!driver) {
        snprintf(why, DRIVER_WHY, "no driver for \"%.60s\"; DEVICE is a path like /dev/ttyUSB0 or replay:FILE", device);
        return DRIVER_WRONG;
    }
    if (!((driver->takes ? driver->takes : 1u << FORM_LINES) & 1u << profile->form)) {
        static const char *const sent[] = {
            [FORM_LINES] = "lines", [FORM_REPORTS] = "reports", [FORM_REGISTERS] = "registers"};
        snprintf(why, DRIVER_WHY, "the profile %.31s is of %s, which don't come from %.80s: choose another profile",
                 profile->name, sent[profile->form], device);
        return DRIVER_WRONG;
    }
    enum driver_result r = driver->open(p, device, profile, why);
    if (r == DRIVER_OK)
        p->driver = driver; /* not before: a port without driver is one that port_close leaves alone */
    return r;
}

void port_close(struct port *p)
{
    if (p->driver)
        p->driver->close(p);
    p->driver = NULL;
    p->fd = -1;
}
