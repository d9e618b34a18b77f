/* Wire: see wire.h. */
#include "plant/wire.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

struct speed {
    uint32_t baud;
    speed_t code;
};
static const struct speed speeds[] = {
    {300, B300},     {600, B600},     {1200, B1200},   {2400, B2400},     {4800, B4800},     {9600, B9600},
    {19200, B19200}, {38400, B38400}, {57600, B57600}, {115200, B115200}, {230400, B230400},
};

void wire_init(struct wire *w, const struct profile *p, const char *on, const char *link)
{
    memset(w, 0, sizeof *w);
    w->fd = -1;
    w->pseudo = !on;
    w->link = link;
    if (on)
        snprintf(w->path, sizeof w->path, "%s", on);
    unsigned bits = 1u + p->bits + p->stop + (p->parity != PARITY_NONE);
    w->byte_ns = (uint32_t)(UINT64_C(1000000000) * bits / (p->baud ? p->baud : 9600));
}

static void set_frame(struct termios *t, const struct profile *p)
{
    cfmakeraw(t);
    t->c_cflag &= ~(tcflag_t)(CSIZE | CSTOPB | PARENB | PARODD | CRTSCTS);
    t->c_cflag |= CREAD | CLOCAL | (p->bits == 7 ? CS7 : CS8);
    if (p->stop == 2)
        t->c_cflag |= CSTOPB;
    if (p->parity != PARITY_NONE)
        t->c_cflag |= PARENB | (p->parity == PARITY_ODD ? PARODD : 0);
    if (p->flow == FLOW_RTSCTS)
        t->c_cflag |= CRTSCTS;
}

static bool make_raw(int fd, const struct profile *p, bool pseudo)
{
    struct termios t;
    if (tcgetattr(fd, &t))
        return false;
    set_frame(&t, p);
    if (pseudo) /* it has no frame: eight bits pass whatever the profile says */
        t.c_cflag = (t.c_cflag & ~(tcflag_t)(CSIZE | PARENB | CRTSCTS)) | CS8;
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
        if (speeds[i].baud == p->baud) {
            cfsetispeed(&t, speeds[i].code);
            cfsetospeed(&t, speeds[i].code);
        }
    return tcsetattr(fd, TCSANOW, &t) == 0;
}

static bool open_pseudo(struct wire *w, const struct profile *p)
{
    w->fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (w->fd < 0)
        return false;
    if (grantpt(w->fd) || unlockpt(w->fd) || ptsname_r(w->fd, w->path, sizeof w->path))
        return false;
    /* Once opened and closed, the other end says by POLLHUP that nobody is there. */
    int other = open(w->path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (other < 0)
        return false;
    bool raw = make_raw(other, p, true);
    close(other);
    w->reader = false;
    return raw;
}

/* A real line has no other end that could be looked at: somebody is taken to listen. */
static bool open_given(struct wire *w, const struct profile *p)
{
    w->fd = open(w->path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    w->reader = true;
    return w->fd >= 0 && make_raw(w->fd, p, false);
}

/* A new link beside the old one, then renamed over it: a reader never finds the path missing. */
static bool make_link(const struct wire *w)
{
    char fresh[PATH_MAX];
    struct stat old;
    if (lstat(w->link, &old) == 0 && !S_ISLNK(old.st_mode)) {
        errno = EEXIST; /* only a link is ever replaced */
        return false;
    }
    if (snprintf(fresh, sizeof fresh, "%s.%ld", w->link, (long)getpid()) >= (int)sizeof fresh) {
        errno = ENAMETOOLONG;
        return false;
    }
    unlink(fresh);
    if (symlink(w->path, fresh))
        return false;
    if (rename(fresh, w->link) == 0)
        return true;
    int kept = errno;
    unlink(fresh);
    errno = kept;
    return false;
}

/* Removes the link if it is still ours. */
static void drop_link(const struct wire *w)
{
    char to[PATH_MAX];
    ssize_t n = readlink(w->link, to, sizeof to - 1);
    if (n > 0) {
        to[n] = 0;
        if (!strcmp(to, w->path))
            unlink(w->link);
    }
}

static void close_fd(struct wire *w)
{
    if (w->fd >= 0)
        close(w->fd);
    w->fd = -1;
    w->len = w->sent = 0;
    w->reader = false;
}

bool wire_plug(struct wire *w, const struct profile *p, char why[WIRE_WHY])
{
    close_fd(w);
    if (!(w->pseudo ? open_pseudo(w, p) : open_given(w, p))) {
        snprintf(why, WIRE_WHY, "%.120s: %s; %s", w->path[0] ? w->path : "/dev/ptmx", strerror(errno),
                 w->pseudo ? "a pseudo-terminal is needed" : "give --on a tty that you may read and write");
        close_fd(w);
        return false;
    }
    if (w->link && !make_link(w)) {
        snprintf(why, WIRE_WHY, "%.120s: %s; --link needs a folder you may write and a name not taken by a file",
                 w->link, strerror(errno));
        close_fd(w);
        return false;
    }
    return true;
}

void wire_unplug(struct wire *w)
{
    if (w->link)
        drop_link(w);
    close_fd(w);
}

bool wire_idle(const struct wire *w)
{
    return w->sent == w->len;
}

bool wire_send(struct wire *w, const char *bytes, size_t n, uint64_t now_us)
{
    if (w->fd < 0)
        return false;
    if (wire_idle(w)) {
        w->len = w->sent = 0;
        w->begun_us = now_us;
    }
    if (n > (size_t)(WIRE_QUEUE - w->len))
        return false;
    memcpy(w->queue + w->len, bytes, n);
    w->len = (uint16_t)(w->len + n);
    return true;
}

/* What is due and finds nobody, or no room in the kernel's queue, is lost and counted: a real line does not wait either. */
void wire_pump(struct wire *w, uint64_t now_us)
{
    if (w->fd < 0 || wire_idle(w) || now_us < w->begun_us)
        return;
    uint64_t done = (now_us - w->begun_us) * 1000 / w->byte_ns;
    uint16_t upto = done < w->len ? (uint16_t)done : w->len;
    if (upto <= w->sent)
        return;
    size_t n = (size_t)(upto - w->sent);
    ssize_t wrote = 0;
    wire_look(w);
    if (w->reader)
        wrote = write(w->fd, w->queue + w->sent, n);
    w->lost += n - (size_t)(wrote > 0 ? wrote : 0);
    w->sent = upto;
}

uint64_t wire_due(const struct wire *w)
{
    if (w->fd < 0 || wire_idle(w))
        return UINT64_MAX;
    return w->begun_us + ((uint64_t)w->sent + 1) * w->byte_ns / 1000 + 1;
}

int wire_read(struct wire *w, char *buf, size_t cap)
{
    ssize_t n = read(w->fd, buf, cap);
    if (n > 0)
        return (int)n;
    if (n < 0 && (errno == EAGAIN || errno == EINTR))
        return 0;
    if (!w->pseudo)
        return -1;
    wire_look(w);
    return 0;
}

void wire_look(struct wire *w)
{
    if (w->fd < 0 || !w->pseudo)
        return;
    struct pollfd f = {.fd = w->fd};
    bool there = poll(&f, 1, 0) == 0 || !(f.revents & POLLHUP);
    if (w->reader && !there) { /* what the reader left unread would else be the next one's first lines */
        int other = open(w->path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        if (other >= 0) {
            tcflush(other, TCIFLUSH);
            close(other);
        }
    }
    w->reader = there;
}
