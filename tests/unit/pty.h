/* A raw pseudo-terminal of a test's own: the test holds the master, the code under test opens the slave's path. */
#ifndef TESTS_UNIT_PTY_H
#define TESTS_UNIT_PTY_H

#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#define PTY_PATH 64

/* The master's descriptor, -1 on failure. */
static inline int pty_make(char path[PTY_PATH])
{
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    struct termios t;
    if (master < 0 || grantpt(master) || unlockpt(master) || ptsname_r(master, path, PTY_PATH))
        return -1;
    tcgetattr(master, &t);
    cfmakeraw(&t);
    tcsetattr(master, TCSANOW, &t);
    return master;
}

/* Writes all of it. */
static inline bool pty_say(int master, const char *bytes, size_t n)
{
    return write(master, bytes, n) == (ssize_t)n;
}

/* Waits until the descriptor has one of the events. */
static inline bool pty_wait(int fd, short events, int timeout_ms)
{
    struct pollfd p = {.fd = fd, .events = events};
    return poll(&p, 1, timeout_ms) == 1;
}

#endif
