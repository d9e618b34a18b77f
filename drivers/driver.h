/* Driver: one way to reach a scale. A driver only moves bytes; framing and meaning are src/core/decode's.
 *
 * One file per driver, one const struct driver, one line in drivers/drivers.c. No slot may block: the station has one
 * thread, and poll() is the only place where it waits. */
#ifndef DRIVERS_DRIVER_H
#define DRIVERS_DRIVER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/profile.h"

#define PORT_PRIVATE 512 /* bytes of a driver's own state inside struct port */
#define DRIVER_WHY 200   /* room for one sentence of error with NUL */

struct driver;

/* One opened device. Zeroed by the caller before open. */
struct port {
    const struct driver *driver;
    int fd;           /* -1 when closed or without a descriptor */
    uint32_t byte_us; /* microseconds one byte takes on the line; 0 = unknown or no line */
    _Alignas(16) unsigned char private_state[PORT_PRIVATE];
};

enum driver_result {
    DRIVER_OK = 0,
    DRIVER_GONE = -1,    /* unplugged, closed at the other end, or the file is at its end: close, then open again */
    DRIVER_BUSY = -2,    /* another program holds it */
    DRIVER_MISSING = -3, /* no such device (now) */
    DRIVER_DENIED = -4,  /* no permission: the why names the group */
    DRIVER_WRONG = -5,   /* the device text or the profile's settings can't be used with it */
    DRIVER_SYSTEM = -6,  /* anything else the system said */
};

struct driver {
    const char *name;
    const char *forms; /* the device texts it takes, for --help */
    uint8_t takes;     /* 1 << enum profile_form, each that it brings; 0: lines alone */
    /* True if this device text is its business. Looks at the text and at what the path is, opens nothing. */
    bool (*claims)(const char *device);
    /* Opens it for exclusive use with the profile's line settings. why: on failure one sentence that says what is wrong
     * and what to do, at most DRIVER_WHY bytes. */
    enum driver_result (*open)(struct port *p, const char *device, const struct profile *profile, char *why);
    /* The descriptor to poll and the events to poll for; events 0: nothing to wait for now (see wake). */
    void (*watch)(const struct port *p, int *fd, short *events);
    /* Reads what is there into buf: bytes read (0: nothing now), or a negative driver_result. */
    int (*feed)(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us);
    /* Sends a command; DRIVER_OK when all bytes are in the kernel's queue. NULL: the device takes none. */
    enum driver_result (*send)(struct port *p, const char *bytes, size_t len);
    /* The monotonic microsecond at which feed wants to be called though no event came; 0 = never. NULL = never. */
    uint64_t (*wake)(const struct port *p);
    void (*close)(struct port *p);
};

/* All drivers, ended by NULL. */
extern const struct driver *const drivers[];
/* The one that claims the device text, or NULL. */
const struct driver *driver_for(const char *device);

/* Chooses the driver anew (a link may lead elsewhere by now) and opens the device; p need not be zeroed. On failure p is
 * closed and why says it; a device text that no driver claims is DRIVER_WRONG and why lists the forms. Heap may be used
 * here, and only here. */
enum driver_result port_open(struct port *p, const char *device, const struct profile *profile, char *why);
/* Closes it; a port that is not open (or zeroed) is left alone. */
void port_close(struct port *p);

#endif
