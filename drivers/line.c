/* Line: see line.h. */
#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <limits.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include "drivers/line.h"

/* Unix98 pseudo-terminal slaves: Linux, Documentation/admin-guide/devices.txt. */
#define PTY_MAJOR_FIRST 136
#define PTY_MAJOR_LAST 143
#define PTY_FOLDER "/dev/pts/"

const char *line_of_modbus(const char *device)
{
    static const char prefix[] = "modbus:";
    return strncmp(device, prefix, sizeof prefix - 1) != 0 ? NULL : device + sizeof prefix - 1;
}

bool line_is_path(const char *device)
{
    const char *slash = strchr(device, '/');
    const char *colon = strchr(device, ':');
    return slash && (!colon || slash < colon);
}

static bool in_pty_folder(const char *path)
{
    return !strncmp(path, PTY_FOLDER, sizeof PTY_FOLDER - 1);
}

bool line_is_pty(const char *device)
{
    struct stat st;
    char path[PATH_MAX];
    if (!stat(device, &st))
        return S_ISCHR(st.st_mode) && major(st.st_rdev) >= PTY_MAJOR_FIRST && major(st.st_rdev) <= PTY_MAJOR_LAST;
    /* Missing now: a link to a pretend scale that is being restarted dangles, and is asked about again at the next
     * opening; so what it pointed at last is enough. */
    ssize_t n = readlink(device, path, sizeof path - 1);
    if (n < 0)
        return in_pty_folder(device);
    path[n] = '\0';
    return in_pty_folder(path);
}

/* A byte is framed by one start bit and, beside its parity, by one or two stop bits. */
uint32_t line_byte_us(const struct profile *profile)
{
    uint32_t bits = 1u + profile->bits + (profile->parity == PARITY_NONE ? 0u : 1u) + profile->stop;
    return profile->baud ? (bits * 1000000u + profile->baud - 1) / profile->baud : 0;
}

/* Serial ports usually belong to a group (dialout). Nobody is told to join root's: that would open the whole machine. */
static void say_denied(const char *path, const char *device, char *why)
{
    struct stat st;
    const struct group *group = stat(path, &st) ? NULL : getgrgid(st.st_gid);
    if (group && group->gr_gid != 0)
        snprintf(
            why, DRIVER_WHY,
            "%.60s may not be opened by this user: add the user to the group that owns it (%.32s) and log in again",
            device, group->gr_name);
    else
        snprintf(why, DRIVER_WHY, "%.90s may not be opened by this user: ask its owner to give this user access to it",
                 device);
}

enum driver_result line_refused(int err, const char *path, const char *device, char *why)
{
    switch (err) {
    case ENOENT:
    case ENOTDIR:
    case ENXIO: /* the name is there, but no device behind it */
    case ENODEV:
        snprintf(why, DRIVER_WHY, "there is no device %.90s now: plug it in, or look what tareline ports lists",
                 device);
        return DRIVER_MISSING;
    case EACCES:
    case EPERM:
        say_denied(path, device, why);
        return DRIVER_DENIED;
    case EBUSY:       /* another program's TIOCEXCL */
    case EWOULDBLOCK: /* another program's flock */
        snprintf(why, DRIVER_WHY, "%.70s is in use by another program: end that one first (fuser %.50s tells which)",
                 device, path);
        return DRIVER_BUSY;
    case ENOTTY:
    case EINVAL: /* isatty(3): some kernels say this for ENOTTY */
        snprintf(why, DRIVER_WHY,
                 "%.90s is not a serial line: give the path of a serial port or pseudo-terminal, like /dev/ttyUSB0",
                 device);
        return DRIVER_WRONG;
    default:
        snprintf(why, DRIVER_WHY, "%.90s can't be used: %s; unplug it and plug it in again", device, strerror(err));
        return DRIVER_SYSTEM;
    }
}

enum driver_result line_open(const char *path, const char *device, int *fd, char *why)
{
    struct stat st;
    int err = 0;
    *fd = -1;
    /* Looked at before it is opened: opening a queue or a tape by mistake could do harm. */
    if (stat(path, &st))
        return line_refused(errno, path, device, why);
    if (!S_ISCHR(st.st_mode))
        return line_refused(ENOTTY, path, device, why);
    /* Without O_NONBLOCK the opening waits for a carrier, which a three-wire cable never shows; without O_NOCTTY the line
     * may become our controlling terminal, and pulling the cable would then end the station with SIGHUP. */
    int opened = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (opened < 0)
        return line_refused(errno, path, device, why);
    if (!isatty(opened))
        err = errno;
    else if (flock(opened, LOCK_EX | LOCK_NB))
        err = errno;
    if (err) {
        close(opened);
        return line_refused(err, path, device, why);
    }
    *fd = opened;
    return DRIVER_OK;
}

/* A read of 0 bytes is a hang-up, or a line that another program has set to VMIN 0 meanwhile; poll tells the two apart. */
bool line_hung_up(int fd)
{
    struct pollfd p = {.fd = fd, .events = POLLIN};
    return poll(&p, 1, 0) > 0 && (p.revents & (POLLHUP | POLLERR | POLLNVAL));
}

/* How the kernel says that a line hung up or its adaptor was pulled; which of them depends on the tty's driver. */
static bool means_gone(int err)
{
    return err == EIO || err == ENXIO || err == ENODEV;
}

int line_feed(int fd, uint8_t *buf, size_t cap)
{
    ssize_t n = read(fd, buf, cap);
    if (n > 0)
        return (int)n;
    if (n == 0)
        return line_hung_up(fd) ? DRIVER_GONE : 0;
    if (errno == EAGAIN || errno == EINTR)
        return 0;
    return means_gone(errno) ? DRIVER_GONE : DRIVER_SYSTEM;
}

enum driver_result line_send(int fd, const char *bytes, size_t len)
{
    /* A command is a few bytes and the queue holds thousands: a write that can't take them all means that the other
     * side has held the line back for long. What went out is then a cut-off command, so the rest is not sent later. */
    ssize_t n = write(fd, bytes, len);
    if (n == (ssize_t)len)
        return DRIVER_OK;
    return n < 0 && means_gone(errno) ? DRIVER_GONE : DRIVER_SYSTEM;
}

void line_watch(const struct port *p, int *fd, short *events)
{
    *fd = p->fd;
    *events = p->fd < 0 ? 0 : POLLIN;
}
