/* Driver tty: pseudo-terminals (the pretend scale, a line bridged from elsewhere).
 *
 * libserialport opens only ports that have modem lines, which a pseudo-terminal has not. TIOCEXCL is left out on purpose:
 * the kernel keeps that mark while the other end stays open, so a station that was killed would lock itself out; flock
 * ends with its holder. */
#include <errno.h>
#include <termios.h>
#include <unistd.h>

#include "drivers/line.h"

static bool tty_claims(const char *device)
{
    return line_is_path(device) && line_is_pty(device);
}

static enum driver_result tty_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct termios t;
    enum driver_result r = line_open(device, device, &p->fd, why);
    if (r != DRIVER_OK)
        return r;
    if (tcgetattr(p->fd, &t)) {
        close(p->fd);
        p->fd = -1;
        return line_refused(EIO, device, device, why);
    }
    cfmakeraw(&t);                 /* raw, and a read waits for at least one byte: so 0 bytes is never "nothing yet" */
    cfsetspeed(&t, profile->baud); /* only told to the other end; a pseudo-terminal has no speed of its own */
    tcsetattr(p->fd, TCSANOW, &t);
    tcflush(p->fd, TCIFLUSH); /* what queued before now is no weight of now */
    p->byte_us = line_byte_us(profile);
    return DRIVER_OK;
}

static int tty_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    (void)now_us;
    return line_feed(p->fd, buf, cap);
}

static enum driver_result tty_send(struct port *p, const char *bytes, size_t len)
{
    return line_send(p->fd, bytes, len);
}

static void tty_close(struct port *p)
{
    if (p->fd >= 0)
        close(p->fd);
    p->fd = -1;
}

const struct driver driver_tty = {
    .name = "tty",
    .forms = "the path of a pseudo-terminal, like /dev/pts/3 or a link to one",
    .claims = tty_claims,
    .open = tty_open,
    .watch = line_watch,
    .feed = tty_feed,
    .send = tty_send,
    .close = tty_close,
};
