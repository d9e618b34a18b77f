/* Driver tcp: a serial device server on the network.
 *
 * The station has one thread, and reopens twice a second what went away: so opening must not wait for a network. What
 * outlives a port (the address, a connection that is being made, the pause before the next try) stands in a table by device
 * text. Only a text's very first opening, at the program's start, may wait: for its name and FIRST_WAIT_MS. */
#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "drivers/clock.h"
#include "drivers/driver.h"

#define PREFIX "tcp:"
#define PEERS 8       /* device texts of one run */
#define PEER_TEXT 256 /* a device text with NUL */
#define FIRST_WAIT_MS 2000
#define LATER_WAIT_MS 5    /* a server on the same wire has answered by then */
#define CONNECT_MS 10000   /* a connection that takes longer is tried anew */
#define PAUSE_LEAST_MS 400 /* below the station's own pace of 500 ms: the first retry is never held back */
#define PAUSE_MOST_MS 8000

struct peer {
    char text[PEER_TEXT]; /* "" = free */
    struct sockaddr_storage address;
    socklen_t address_len;
    int fd;         /* being connected; -1 = none */
    uint64_t begun; /* milliseconds */
    uint64_t next;  /* no try before */
    uint32_t pause; /* the newest; 0 = the newest connection was good */
    bool in_use;    /* a port has the connection */
    bool tried;
    int trouble; /* of the newest try: an errno, or one of these */
};
#define NO_ANSWER_YET (-1)
#define DROPPED (-2)

struct tcp {
    uint8_t peer;
    bool heard;
};
_Static_assert(sizeof(struct tcp) <= PORT_PRIVATE, "tcp's state fits a port");

static struct peer peers[PEERS];

static struct tcp *own(struct port *p)
{
    return (struct tcp *)(void *)p->private_state;
}

static uint64_t now_ms(void)
{
    return clock_monotonic_us() / 1000;
}

static bool tcp_claims(const char *device)
{
    return !strncmp(device, PREFIX, sizeof PREFIX - 1);
}

/* "HOST:PORT" or "[ADDRESS]:PORT" into its two. */
static bool split(const char *text, char host[PEER_TEXT], char port[6])
{
    const char *colon = strrchr(text, ':');
    size_t n = colon ? (size_t)(colon - text) : 0, digits = colon ? strlen(colon + 1) : 0;
    if (!n || n >= PEER_TEXT || !digits || digits > 5 || strspn(colon + 1, "0123456789") != digits)
        return false;
    long number = strtol(colon + 1, NULL, 10);
    if (number < 1 || number > 65535)
        return false;
    memcpy(port, colon + 1, digits + 1);
    if (text[0] == '[') {
        if (n < 3 || text[n - 1] != ']')
            return false;
        text++;
        n -= 2;
    } else if (memchr(text, ':', n)) {
        return false; /* an address of colons without brackets: where does its port begin? */
    }
    memcpy(host, text, n);
    host[n] = '\0';
    return true;
}

/* Waits for the resolver where the host is a name. */
static enum driver_result resolve(struct peer *peer, const char *device, char *why)
{
    struct addrinfo hints = {.ai_socktype = SOCK_STREAM, .ai_flags = AI_NUMERICSERV}, *list;
    char host[PEER_TEXT], port[6];
    if (!split(device + sizeof PREFIX - 1, host, port)) {
        snprintf(why, DRIVER_WHY,
                 "\"%.80s\" names no host and port: write tcp:HOST:PORT, or tcp:[ADDRESS]:PORT for IPv6", device);
        return DRIVER_WRONG;
    }
    int err = getaddrinfo(host, port, &hints, &list);
    if (err) {
        snprintf(why, DRIVER_WHY, "%.80s can't be found: %.40s; check the name, or give the address in numbers", host,
                 gai_strerror(err));
        return DRIVER_MISSING;
    }
    memcpy(&peer->address, list->ai_addr, list->ai_addrlen);
    peer->address_len = list->ai_addrlen;
    freeaddrinfo(list);
    return DRIVER_OK;
}

/* The peer of a device text, made at its first opening; the name is looked up once in a run. */
static enum driver_result find_peer(const char *device, struct peer **out, char *why)
{
    struct peer *free_one = NULL;
    for (unsigned i = 0; i < PEERS; i++) {
        if (!strcmp(peers[i].text, device)) {
            *out = &peers[i];
            return DRIVER_OK;
        }
        if (!free_one && (!peers[i].text[0] || (!peers[i].in_use && peers[i].tried)))
            free_one = &peers[i];
    }
    if (!free_one || strlen(device) >= PEER_TEXT) {
        snprintf(why, DRIVER_WHY, "%.80s is one too many, or too long: a run takes %d tcp: devices", device, PEERS);
        return DRIVER_WRONG;
    }
    if (free_one->text[0] && free_one->fd >= 0)
        close(free_one->fd);
    *free_one = (struct peer){.fd = -1};
    enum driver_result r = resolve(free_one, device, why);
    if (r == DRIVER_OK)
        memcpy(free_one->text, device, strlen(device) + 1);
    *out = free_one;
    return r;
}

/* A server without power says nothing; so the kernel is told to ask, and to give up after about ten seconds. */
static void set_options(int fd)
{
    const int on = 1, idle = 4, every = 2, times = 3, unanswered_ms = 10000;
    setsockopt(fd, SOL_SOCKET, SO_KEEPALIVE, &on, sizeof on);
    setsockopt(fd, IPPROTO_TCP, TCP_KEEPIDLE, &idle, sizeof idle);
    setsockopt(fd, IPPROTO_TCP, TCP_KEEPINTVL, &every, sizeof every);
    setsockopt(fd, IPPROTO_TCP, TCP_KEEPCNT, &times, sizeof times);
    setsockopt(fd, IPPROTO_TCP, TCP_USER_TIMEOUT, &unanswered_ms, sizeof unanswered_ms);
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on); /* a request is a few bytes, and is waited for */
}

static void hold_off(struct peer *peer)
{
    peer->pause = peer->pause ? peer->pause * 2 : PAUSE_LEAST_MS;
    if (peer->pause > PAUSE_MOST_MS)
        peer->pause = PAUSE_MOST_MS;
    peer->next = now_ms() + peer->pause;
}

/* What the newest try met, and what to do. */
static void say_trouble(int trouble, const char *host, char *why)
{
    if (trouble == NO_ANSWER_YET)
        snprintf(why, DRIVER_WHY, "%.80s does not answer yet: check cable, power and address", host);
    else if (trouble == DROPPED)
        snprintf(why, DRIVER_WHY, "%.80s closes the connection at once: does another program have its one connection?",
                 host);
    else if (trouble == ECONNREFUSED)
        snprintf(why, DRIVER_WHY,
                 "%.80s refuses: check the port number, and that no other program has the server's one connection",
                 host);
    else
        snprintf(why, DRIVER_WHY, "%.80s can't be reached: %.60s; check cable, power and address", host,
                 strerror(trouble));
}

static enum driver_result failed(struct peer *peer, int err)
{
    if (peer->fd >= 0)
        close(peer->fd);
    peer->fd = -1;
    hold_off(peer);
    peer->trouble = err;
    return DRIVER_MISSING;
}

static enum driver_result begin(struct peer *peer)
{
    peer->fd = socket(peer->address.ss_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (peer->fd < 0)
        return failed(peer, errno);
    peer->begun = now_ms();
    set_options(peer->fd);
    if (connect(peer->fd, (const struct sockaddr *)&peer->address, peer->address_len) && errno != EINPROGRESS)
        return failed(peer, errno);
    return DRIVER_OK;
}

/* Is the connection made? DRIVER_BUSY: not yet. */
static enum driver_result made(struct peer *peer, int wait_ms)
{
    struct pollfd p = {.fd = peer->fd, .events = POLLOUT};
    int err = 0;
    socklen_t len = sizeof err;
    if (poll(&p, 1, wait_ms) <= 0) {
        if (now_ms() - peer->begun >= CONNECT_MS)
            return failed(peer, ETIMEDOUT);
        peer->trouble = NO_ANSWER_YET;
        return DRIVER_BUSY;
    }
    getsockopt(peer->fd, SOL_SOCKET, SO_ERROR, &err, &len);
    return err ? failed(peer, err) : DRIVER_OK;
}

static enum driver_result tcp_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct peer *peer;
    (void)profile; /* the server keeps the line's settings */
    p->fd = -1;
    enum driver_result r = find_peer(device, &peer, why);
    if (r != DRIVER_OK)
        return r;
    if (peer->in_use) {
        snprintf(why, DRIVER_WHY, "%.80s is open already: each scale needs a device of its own", device);
        return DRIVER_BUSY;
    }
    int wait_ms = peer->tried ? LATER_WAIT_MS : FIRST_WAIT_MS;
    peer->tried = true;
    if (peer->fd < 0 && now_ms() < peer->next)
        r = DRIVER_MISSING;
    else if (peer->fd < 0)
        r = begin(peer);
    if (r == DRIVER_OK)
        r = made(peer, wait_ms);
    if (r != DRIVER_OK) {
        say_trouble(peer->trouble, device + sizeof PREFIX - 1, why);
        return DRIVER_MISSING;
    }
    p->fd = peer->fd;
    peer->fd = -1;
    peer->in_use = true;
    *own(p) = (struct tcp){.peer = (uint8_t)(peer - peers)};
    return DRIVER_OK;
}

static void tcp_watch(const struct port *p, int *fd, short *events)
{
    *fd = p->fd;
    *events = p->fd < 0 ? 0 : POLLIN;
}

static int tcp_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    struct tcp *t = own(p);
    (void)now_us;
    ssize_t n = recv(p->fd, buf, cap, 0);
    if (n < 0 && (errno == EAGAIN || errno == EINTR))
        return 0;
    if (n <= 0)
        return DRIVER_GONE; /* closed, reset, or given up by keep-alive */
    t->heard = true;
    peers[t->peer].pause = 0;
    return (int)n;
}

static enum driver_result tcp_send(struct port *p, const char *bytes, size_t len)
{
    ssize_t n = send(p->fd, bytes, len, MSG_NOSIGNAL);
    if (n == (ssize_t)len)
        return DRIVER_OK;
    return n >= 0 || errno == EAGAIN || errno == EINTR ? DRIVER_SYSTEM : DRIVER_GONE;
}

/* A server that takes the connection and drops it without a byte is held off like one that refuses. */
static void tcp_close(struct port *p)
{
    struct tcp *t = own(p);
    if (p->fd >= 0) {
        close(p->fd);
        peers[t->peer].in_use = false;
        if (!t->heard) {
            hold_off(&peers[t->peer]);
            peers[t->peer].trouble = DROPPED;
        }
    }
    p->fd = -1;
}

const struct driver driver_tcp = {
    .name = "tcp",
    .forms = "tcp:HOST:PORT, or tcp:[ADDRESS]:PORT, a serial device server on the network",
    .claims = tcp_claims,
    .open = tcp_open,
    .watch = tcp_watch,
    .feed = tcp_feed,
    .send = tcp_send,
    .close = tcp_close,
};
