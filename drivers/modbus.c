/* Driver modbus: an indicator that is asked over Modbus RTU.
 *
 * libmodbus's own calls wait for the answer. So a request goes out raw, the station's poll waits on the line, and only when
 * the whole answer has come (or what has come stays short for a while: an exception, or a broken frame) is the library
 * asked for it, with BYTE_TIMEOUT_US as the most that it may wait for a byte. It checks the CRC and the address. The
 * answer is handed over whole behind its length (core/decode_block.h), what is none as a block of one byte: a bad line.
 *
 * The profile's request, tare and zero are what stands in a frame between address and CRC. */
#include <errno.h>
#include <limits.h>
#include <modbus.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "core/decode_block.h"
#include "drivers/clock.h"
#include "drivers/line.h"

#define BYTE_TIMEOUT_US 1000
#define QUIET_US 25000 /* above 3.5 characters, and above the 16 ms for which USB adaptors hold bytes back */
#define LOOK_US 2000

struct modbus {
    modbus_t *context;
    int lock;
    uint8_t address;
    uint8_t expected; /* bytes of the answer to the newest request; 0 = none is due */
    bool overdue;     /* the request before it was not answered: the next answer may be that one's, and is none */
    uint16_t seen;    /* bytes that lie there, at the newest look */
    uint64_t look;    /* the microsecond of the next one; 0 = nothing lies there */
    uint64_t quiet;   /* and when they are taken though they are fewer */
};
_Static_assert(sizeof(struct modbus) <= PORT_PRIVATE, "modbus's state fits a port");

static struct modbus *own(struct port *p)
{
    return (struct modbus *)(void *)p->private_state;
}

static bool modbus_claims(const char *device)
{
    return line_of_modbus(device) != NULL;
}

/* "modbus:TTY:ADDRESS"; those by USB port hold colons of their own. */
static bool split(const char *device, char path[PATH_MAX], uint8_t *address)
{
    const char *text = line_of_modbus(device), *colon = text ? strrchr(text, ':') : NULL;
    size_t n = colon ? (size_t)(colon - text) : 0, digits = colon ? strlen(colon + 1) : 0;
    if (!n || n >= PATH_MAX || !memchr(text, '/', n) || digits < 1 || digits > 3 ||
        strspn(colon + 1, "0123456789") != digits)
        return false;
    long number = strtol(colon + 1, NULL, 10);
    if (number < 1 ||
        number > 247) /* 0 is everybody, and those above are reserved: Modbus over serial line 1.02, 2.2 */
        return false;
    memcpy(path, text, n);
    path[n] = '\0';
    *address = (uint8_t)number;
    return true;
}

/* The library takes any other speed for 9600. */
static bool speed_known(uint32_t baud)
{
    static const uint32_t known[] = {300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400};
    for (unsigned i = 0; i < sizeof known / sizeof *known; i++)
        if (known[i] == baud)
            return true;
    return false;
}

static void modbus_port_close(struct port *p)
{
    struct modbus *m = own(p);
    if (m->context) {
        if (p->fd >= 0) {
            tcflush(p->fd, TCOFLUSH); /* else closing waits for bytes that a held-back line never takes */
            ioctl(p->fd, TIOCNXCL);
            modbus_close(m->context);
        }
        modbus_free(m->context);
    }
    if (m->lock >= 0)
        close(m->lock);
    *m = (struct modbus){.lock = -1};
    p->fd = -1;
}

/* The library opens and sets the line; the lock is held already. */
static enum driver_result connect_line(struct port *p, const char *path, const char *device,
                                       const struct profile *profile, char *why)
{
    static const char parity[] = {[PARITY_NONE] = 'N', [PARITY_EVEN] = 'E', [PARITY_ODD] = 'O'};
    struct modbus *m = own(p);
    m->context = modbus_new_rtu(path, (int)profile->baud, parity[profile->parity], profile->bits, profile->stop);
    if (!m->context || modbus_set_slave(m->context, m->address))
        return line_refused(ENOMEM, path, device, why);
    if (modbus_connect(m->context))
        return line_refused(errno, path, device, why);
    p->fd = modbus_get_socket(m->context);
    modbus_set_error_recovery(m->context, MODBUS_ERROR_RECOVERY_NONE); /* recovery is the station's: it sleeps */
    modbus_set_response_timeout(m->context, 0, BYTE_TIMEOUT_US);
    modbus_set_byte_timeout(m->context, 0, BYTE_TIMEOUT_US);
    if (!line_is_pty(path))
        ioctl(p->fd, TIOCEXCL);
    tcflush(p->fd, TCIOFLUSH);
    p->byte_us = line_byte_us(profile);
    return DRIVER_OK;
}

static enum driver_result modbus_port_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct modbus *m = own(p);
    char named[PATH_MAX], path[PATH_MAX];
    *m = (struct modbus){.lock = -1};
    p->fd = -1;
    if (!split(device, named, &m->address)) {
        snprintf(
            why, DRIVER_WHY,
            "\"%.60s\" names no line and address: write modbus:TTY:ADDRESS, such as modbus:/dev/ttyUSB0:1 (1 to 247)",
            device);
        return DRIVER_WRONG;
    }
    if (!speed_known(profile->baud)) {
        snprintf(why, DRIVER_WHY, "%u baud is no usual speed: choose one such as 9600 or 19200 in the scale profile",
                 (unsigned)profile->baud);
        return DRIVER_WRONG;
    }
    if (!realpath(named, path))
        return line_refused(errno, named, device, why);
    enum driver_result r = line_open(path, device, &m->lock, why);
    if (r == DRIVER_OK)
        r = connect_line(p, path, device, profile, why);
    if (r != DRIVER_OK)
        modbus_port_close(p);
    return r;
}

static const struct modbus *own_const(const struct port *p)
{
    return (const struct modbus *)(const void *)p->private_state;
}

/* While a part of an answer lies there poll would return at once, for nothing. */
static void modbus_watch(const struct port *p, int *fd, short *events)
{
    *fd = p->fd;
    *events = p->fd < 0 || own_const(p)->look ? 0 : POLLIN;
}

static uint64_t modbus_wake(const struct port *p)
{
    return own_const(p)->look;
}

/* Bytes that lie there; negative: a driver_result. */
static int lying_there(const struct port *p)
{
    int n = 0;
    if (ioctl(p->fd, FIONREAD, &n))
        return DRIVER_GONE;
    return n == 0 && line_hung_up(p->fd) ? DRIVER_GONE : n;
}

/* The answer, or what came instead of one, as a block. */
static int take_answer(struct port *p, uint8_t *buf, size_t cap)
{
    struct modbus *m = own(p);
    uint8_t answer[MODBUS_MAX_ADU_LENGTH];
    int n = modbus_receive_confirmation(m->context, answer);
    bool ours = n > 0 && n < PROFILE_LINE_MAX && (size_t)n < cap && answer[0] == m->address && !m->overdue;
    if (n < 0 && (errno == EIO || errno == ENXIO || errno == ENODEV || errno == EBADF))
        return DRIVER_GONE;
    tcflush(p->fd, TCIFLUSH); /* what is behind it belongs to no request of ours */
    m->expected = 0;
    m->overdue = false;
    m->seen = 0;
    m->look = 0;
    if (!ours) {
        n = 1;
        answer[0] = 0;
    }
    buf[0] = (uint8_t)n;
    memcpy(buf + 1, answer, (size_t)n);
    return n + 1;
}

static int modbus_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    struct modbus *m = own(p);
    int n = lying_there(p);
    (void)now_us; /* it is the time before the read, and may be long ago */
    if (n < 0)
        return n;
    if (n == 0 || cap < 2) {
        m->look = 0;
        return 0;
    }
    uint64_t now = clock_monotonic_us();
    if (n >= m->expected || (m->look && n == m->seen && now >= m->quiet))
        return take_answer(p, buf, cap);
    uint64_t rest = (uint64_t)(m->expected - n) * p->byte_us;
    if (n != m->seen || !m->look)
        m->quiet = now + QUIET_US;
    m->seen = (uint16_t)n;
    m->look = now + (rest > LOOK_US ? rest : LOOK_US);
    return 0;
}

/* Bytes between address and CRC. What lies there answers nothing that is asked now. */
static enum driver_result modbus_send(struct port *p, const char *bytes, size_t len)
{
    struct modbus *m = own(p);
    uint8_t request[1 + PROFILE_COMMAND];
    if (len < 1 || len > PROFILE_COMMAND)
        return DRIVER_WRONG;
    tcflush(p->fd, TCIFLUSH);
    request[0] = m->address;
    memcpy(request + 1, bytes, len);
    uint8_t function = request[1], count = len == 5 ? request[5] : 0;
    m->overdue = m->expected > 0;
    m->expected = (uint8_t)(function == 3 || function == 4 ? REGISTERS_EXTRA + 2 * count : 8); /* an echoed write */
    m->seen = 0;
    m->look = 0;
    int n = modbus_send_raw_request(m->context, request, (int)len + 1);
    if (n > 0)
        return DRIVER_OK;
    return errno == EIO || errno == ENXIO || errno == ENODEV ? DRIVER_GONE : DRIVER_SYSTEM;
}

const struct driver driver_modbus = {
    .name = "modbus",
    .forms = "modbus:TTY:ADDRESS, an indicator that is asked over Modbus RTU",
    .takes = 1u << FORM_REGISTERS,
    .claims = modbus_claims,
    .open = modbus_port_open,
    .watch = modbus_watch,
    .feed = modbus_feed,
    .send = modbus_send,
    .wake = modbus_wake,
    .close = modbus_port_close,
};
