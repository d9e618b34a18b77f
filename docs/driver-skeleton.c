/* Driver NAME: what it reaches, in one sentence, and what about the device forced the code to be as it is.
 *
 * To begin: copy this file to drivers/NAME.c, put your name for "skeleton" everywhere, and add &driver_NAME to the list in
 * drivers/drivers.c. It compiles as it is (tests/unit/test_drivers_skeleton.c sees to that) and plays a scale that
 * answers every command with the same line. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "drivers/driver.h"

#define PREFIX "skeleton:"

/* All state of an opened device lives in struct port: no heap after open, no statics, any number of devices. */
struct skeleton {
    bool asked;
};
_Static_assert(sizeof(struct skeleton) <= PORT_PRIVATE, "skeleton's state fits a port");

static struct skeleton *own(struct port *p)
{
    return (struct skeleton *)(void *)p->private_state;
}

/* Looks at the text only; opens nothing. No other driver may claim the same text. */
static bool skeleton_claims(const char *device)
{
    return !strncmp(device, PREFIX, sizeof PREFIX - 1);
}

/* Opens without waiting, takes the device for itself alone, drops what queued before now. On failure everything is given
 * back and why says what is wrong and what to do. */
static enum driver_result skeleton_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    (void)profile; /* line settings, where there is a line */
    if (!device[sizeof PREFIX - 1]) {
        snprintf(why, DRIVER_WHY, "\"%.60s\" names no device: write skeleton:NAME", device);
        return DRIVER_WRONG;
    }
    *own(p) = (struct skeleton){.asked = false};
    p->fd = -1;     /* or the descriptor that poll() is to watch */
    p->byte_us = 0; /* or how long one byte takes, so that the rest of a line can be slept for */
    return DRIVER_OK;
}

/* What poll() is to wait for. events 0: nothing now; then wake must name a time. */
static void skeleton_watch(const struct port *p, int *fd, short *events)
{
    *fd = p->fd;
    *events = 0;
}

/* Called when poll() says so or wake's time has come. Never waits; 0 is a fine answer. Fewer bytes than cap means that
 * nothing is left there: readings are dated by it. */
static int skeleton_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    static const char line[] = "S +0.250 kg\r\n";
    (void)now_us;
    if (!own(p)->asked || cap < sizeof line - 1)
        return 0;
    own(p)->asked = false;
    memcpy(buf, line, sizeof line - 1);
    return (int)(sizeof line - 1);
}

/* Sends a command of the profile. Leave the slot NULL if the device takes none. */
static enum driver_result skeleton_send(struct port *p, const char *bytes, size_t len)
{
    (void)bytes;
    own(p)->asked = len > 0;
    return DRIVER_OK;
}

/* For devices that poll() can't watch, or that want to be asked. Leave the slot NULL if events are enough. */
static uint64_t skeleton_wake(const struct port *p)
{
    const struct skeleton *s = (const struct skeleton *)(const void *)p->private_state;
    return s->asked ? 1 : 0;
}

static void skeleton_close(struct port *p)
{
    if (p->fd >= 0)
        close(p->fd);
    p->fd = -1;
}

const struct driver driver_skeleton = {
    .name = "skeleton",
    .forms = "skeleton:NAME, which is only an example",
    .claims = skeleton_claims,
    .open = skeleton_open,
    .watch = skeleton_watch,
    .feed = skeleton_feed,
    .send = skeleton_send,
    .wake = skeleton_wake,
    .close = skeleton_close,
};
