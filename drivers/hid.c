/* Driver hid: a USB scale that is a HID weighing device.
 *
 * hidapi lists the devices, with what their descriptors say they are for, but has no descriptor to poll: so it only finds
 * the path, which is then opened here. Each read of it is one whole report; it is handed over behind its length
 * (core/decode_block.h). */
#include <errno.h>
#include <fcntl.h>
#include <hidapi.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>
#include <wchar.h>

#include "drivers/hid.h"
#include "drivers/line.h"

#define PREFIX "hid:"
#define REPORT_MOST 62 /* a longer one is no data report, and is handed over cut short: it is refused all the same */

static bool hid_claims(const char *device)
{
    return !strncmp(device, PREFIX, sizeof PREFIX - 1);
}

/* Four hexadecimal digits at most. */
static bool take_id(const char **at, unsigned short *out)
{
    char *end;
    size_t n = strspn(*at, "0123456789abcdefABCDEF");
    if (n < 1 || n > 4)
        return false;
    *out = (unsigned short)strtoul(*at, &end, 16);
    *at = end;
    return true;
}

bool hid_split(const char *device, struct hid_name *out)
{
    const char *at = device + sizeof PREFIX - 1;
    *out = (struct hid_name){.serial = NULL};
    if (!take_id(&at, &out->vendor) || *at++ != ':' || !take_id(&at, &out->product))
        return false;
    if (*at == ':' && at[1])
        out->serial = at + 1;
    return !*at || out->serial;
}

/* A device's serial number as it is written in a device text; "" = none that can be. */
static void serial_text(const wchar_t *serial, char out[HID_SERIAL])
{
    size_t n = 0;
    for (; serial && serial[n]; n++) {
        if (n == HID_SERIAL - 1 || serial[n] <= L' ' || serial[n] > L'~' || wcschr(L",\"\\", serial[n])) {
            n = 0;
            break;
        }
        out[n] = (char)serial[n];
    }
    out[n] = '\0';
}

/* hidapi lists a device once for each collection in its descriptor. */
static bool listed(const struct hid_found *found, unsigned n, const char *path)
{
    for (unsigned i = 0; i < n; i++)
        if (!strcmp(found[i].path, path))
            return true;
    return false;
}

unsigned hid_list(unsigned short vendor, unsigned short product, struct hid_found *out, unsigned room)
{
    struct hid_device_info *all = hid_enumerate(vendor, product);
    unsigned n = 0;
    for (const struct hid_device_info *d = all; d && n < room; d = d->next) {
        if (d->usage_page != HID_WEIGHING_PAGE || !d->path || listed(out, n, d->path))
            continue;
        out[n].vendor = d->vendor_id;
        out[n].product = d->product_id;
        serial_text(d->serial_number, out[n].serial);
        snprintf(out[n].path, sizeof out[n].path, "%s", d->path);
        n++;
    }
    hid_free_enumeration(all);
    return n;
}

/* Which of the found ones is meant; NULL and why if none or more than one is. */
static const struct hid_found *choose(const struct hid_name *name, const struct hid_found *found, unsigned n,
                                      const char *device, enum driver_result *result, char *why)
{
    const struct hid_found *best = NULL;
    *result = DRIVER_MISSING;
    for (unsigned i = 0; i < n; i++) {
        if (name->serial && strcmp(found[i].serial, name->serial) != 0)
            continue;
        if (best) {
            *result = DRIVER_WRONG;
            snprintf(why, DRIVER_WHY,
                     "there is more than one %.60s: add the serial number that tareline ports shows, as "
                     "hid:VID:PID:SERIAL",
                     device);
            return NULL;
        }
        best = &found[i];
    }
    if (!best)
        snprintf(why, DRIVER_WHY,
                 "there is no weighing device %.90s now: plug it in, or look what tareline ports lists", device);
    return best;
}

static enum driver_result open_found(struct port *p, const char *path, const char *device, char *why)
{
    int fd = open(path, O_RDWR | O_NONBLOCK | O_CLOEXEC);
    int err = fd < 0 ? errno : flock(fd, LOCK_EX | LOCK_NB) ? errno : 0;
    if (err) {
        if (fd >= 0)
            close(fd);
        if (err != EACCES && err != EPERM)
            return line_refused(err, path, device, why);
        snprintf(why, DRIVER_WHY,
                 "%.60s (%.30s) may not be opened by this user: add the udev rule that docs/installer.md shows", device,
                 path);
        return DRIVER_DENIED;
    }
    p->fd = fd;
    return DRIVER_OK;
}

static enum driver_result hid_port_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct hid_found found[HID_MOST];
    struct hid_name name;
    enum driver_result result;
    (void)profile;
    p->fd = -1;
    if (!hid_split(device, &name)) {
        snprintf(why, DRIVER_WHY,
                 "\"%.60s\" names no USB device: write hid:VID:PID or hid:VID:PID:SERIAL, as tareline ports lists it",
                 device);
        return DRIVER_WRONG;
    }
    unsigned n = hid_list(name.vendor, name.product, found, HID_MOST);
    const struct hid_found *one = choose(&name, found, n, device, &result, why);
    return one ? open_found(p, one->path, device, why) : result;
}

static void hid_watch(const struct port *p, int *fd, short *events)
{
    *fd = p->fd;
    *events = p->fd < 0 ? 0 : POLLIN;
}

/* As many whole reports as there are and buf has room for. If there may be more it is filled up with zeros, which are
 * blocks of nothing: so it counts as full, and what is still queued is not taken for younger than it is. */
static int hid_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    size_t n = 0;
    (void)now_us;
    while (cap - n > REPORT_MOST) {
        ssize_t got = read(p->fd, buf + n + 1, REPORT_MOST);
        if (got < 0 && (errno == EAGAIN || errno == EINTR))
            return (int)n;
        if (got <= 0) /* unplugged: what came before is handed over first */
            return n ? (int)n : DRIVER_GONE;
        buf[n] = (uint8_t)got;
        n += (size_t)got + 1;
    }
    memset(buf + n, 0, cap - n);
    return (int)cap;
}

/* A whole report, its id first: the profile's tare or zero. */
static enum driver_result hid_send(struct port *p, const char *bytes, size_t len)
{
    ssize_t n = write(p->fd, bytes, len);
    if (n == (ssize_t)len)
        return DRIVER_OK;
    return n < 0 && (errno == ENODEV || errno == EIO || errno == ENXIO) ? DRIVER_GONE : DRIVER_SYSTEM;
}

static void hid_port_close(struct port *p)
{
    if (p->fd >= 0)
        close(p->fd);
    p->fd = -1;
}

const struct driver driver_hid = {
    .name = "hid",
    .forms = "hid:VID:PID or hid:VID:PID:SERIAL, a USB scale that is a HID weighing device",
    .takes = 1u << FORM_REPORTS,
    .claims = hid_claims,
    .open = hid_port_open,
    .watch = hid_watch,
    .feed = hid_feed,
    .send = hid_send,
    .close = hid_port_close,
};
