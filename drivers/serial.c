/* Driver serial: serial ports and USB adaptors, through libserialport.
 *
 * libserialport 0.1.1 knows a port only by the name under which the kernel lists it in its tty class, so links such as
 * those under /dev/serial/by-id are followed first. It takes no lock, so the lock is taken on a descriptor of our own
 * before the library touches the line's settings, and kept as long as the port. */
#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "drivers/line.h"

struct serial {
    struct sp_port *sp;
    int lock;
};
_Static_assert(sizeof(struct serial) <= PORT_PRIVATE, "serial's state fits a port");

static struct serial *own(struct port *p)
{
    return (struct serial *)(void *)p->private_state;
}

static bool serial_claims(const char *device)
{
    return line_is_path(device) && !line_is_pty(device);
}

static void serial_close(struct port *p)
{
    struct serial *s = own(p);
    if (p->fd >= 0) {
        tcflush(p->fd, TCOFLUSH); /* else closing waits for bytes that a held-back line never takes */
        ioctl(p->fd, TIOCNXCL);   /* the mark is the line's, and stays as long as any program has it open */
    }
    if (s->sp) {
        if (p->fd >= 0)
            sp_close(s->sp);
        sp_free_port(s->sp);
    }
    if (s->lock >= 0)
        close(s->lock);
    *s = (struct serial){.lock = -1};
    p->fd = -1;
}

/* Everything the profile says, also what equals the default: the port keeps what the program before us set. */
static bool set_line(struct sp_port *sp, const struct profile *profile)
{
    static const enum sp_parity parity[] = {
        [PARITY_NONE] = SP_PARITY_NONE, [PARITY_EVEN] = SP_PARITY_EVEN, [PARITY_ODD] = SP_PARITY_ODD};
    static const enum sp_flowcontrol flow[] = {[FLOW_NONE] = SP_FLOWCONTROL_NONE,
                                               [FLOW_RTSCTS] = SP_FLOWCONTROL_RTSCTS,
                                               [FLOW_XONXOFF] = SP_FLOWCONTROL_XONXOFF};
    return sp_set_baudrate(sp, (int)profile->baud) == SP_OK && sp_set_bits(sp, profile->bits) == SP_OK &&
           sp_set_parity(sp, parity[profile->parity]) == SP_OK && sp_set_stopbits(sp, profile->stop) == SP_OK &&
           sp_set_flowcontrol(sp, flow[profile->flow]) == SP_OK;
}

/* What libserialport has no call for. */
static bool set_rest(int fd, const struct profile *profile)
{
    struct termios t;
    if (tcgetattr(fd, &t))
        return false;
    t.c_cc[VMIN] = 1; /* an empty line then says "nothing yet", not "0 bytes" */
    t.c_cc[VTIME] = 0;
    if (profile->parity != PARITY_NONE)
        t.c_iflag |= INPCK; /* a byte of wrong parity comes as NUL: its line is refused, never a wrong digit taken */
    return !tcsetattr(fd, TCSANOW, &t) && !fcntl(fd, F_SETFD, FD_CLOEXEC) &&
           fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) | O_NONBLOCK) != -1;
}

static enum driver_result settings_refused(const struct profile *profile, const char *device, char *why)
{
    static const char parity[] = {[PARITY_NONE] = 'N', [PARITY_EVEN] = 'E', [PARITY_ODD] = 'O'};
    snprintf(why, DRIVER_WHY,
             "%.80s does not take %u baud %u%c%u: check baud, bits, parity, stop and flow in the scale profile", device,
             (unsigned)profile->baud, profile->bits, parity[profile->parity], profile->stop);
    return DRIVER_WRONG;
}

/* The library's own opening, with the lock already held. */
static enum driver_result open_port(struct port *p, const char *path, const char *device, char *why)
{
    struct serial *s = own(p);
    if (sp_get_port_by_name(path, &s->sp) != SP_OK) {
        s->sp = NULL;
        return line_refused(ENOTTY, path, device, why);
    }
    if (sp_open(s->sp, SP_MODE_READ_WRITE) != SP_OK)
        return line_refused(sp_last_error_code(), path, device, why);
    return sp_get_port_handle(s->sp, &p->fd) == SP_OK ? DRIVER_OK : line_refused(EIO, path, device, why);
}

static enum driver_result serial_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct serial *s = own(p);
    char path[PATH_MAX];
    *s = (struct serial){.lock = -1};
    p->fd = -1;
    if (!realpath(device, path))
        return line_refused(errno, device, device, why);
    enum driver_result r = line_open(path, device, &s->lock, why);
    if (r == DRIVER_OK)
        r = open_port(p, path, device, why);
    if (r == DRIVER_OK && !(set_line(s->sp, profile) && set_rest(p->fd, profile)))
        r = settings_refused(profile, device, why);
    if (r != DRIVER_OK) {
        serial_close(p);
        return r;
    }
    /* Keeps out programs that know nothing of our lock. Set any sooner it would keep out the library's opening too. */
    ioctl(p->fd, TIOCEXCL);
    sp_flush(s->sp, SP_BUF_BOTH); /* what queued before now is no weight of now */
    p->byte_us = line_byte_us(profile);
    return DRIVER_OK;
}

static int serial_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    (void)now_us;
    return line_feed(p->fd, buf, cap);
}

static enum driver_result serial_send(struct port *p, const char *bytes, size_t len)
{
    return line_send(p->fd, bytes, len);
}

const struct driver driver_serial = {
    .name = "serial",
    .forms = "the path of a serial port, like /dev/ttyUSB0 or a link under /dev/serial/by-id",
    .claims = serial_claims,
    .open = serial_open,
    .watch = line_watch,
    .feed = serial_feed,
    .send = serial_send,
    .close = serial_close,
};
