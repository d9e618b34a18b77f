/* drivers/numbered.c, and that weighing heeds it, with a folder in the place of /dev. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <unistd.h>

static char of_ports[] = "/tmp/tareline-numbered-XXXXXX";
#define NUMBERED_FOLDER of_ports
#include "drivers/numbered.c"

#include "station/weigh.c"

static const struct profile profile = {.name = "test", .baud = 9600, .bits = 8, .stop = 1};
static const char *const files[] = {"ttyUSB0", "ttyUSB1", "ttyACM0", "ttyUSB", "ttyUSBx", "ttyS0", "ttyUSB0.old"};
static char device[64], why[DRIVER_WHY];

static void path_to(const char *name, char out[80])
{
    snprintf(out, 80, "%s/%s", of_ports, name);
}

static void plug(const char *name)
{
    char path[80];
    path_to(name, path);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fclose(f);
}

static void unplug(const char *name)
{
    char path[80];
    path_to(name, path);
    (void)unlink(path);
}

static int set_up(void **state)
{
    (void)state;
    strcpy(of_ports + sizeof of_ports - 7, "XXXXXX");
    if (!mkdtemp(of_ports))
        return -1;
    snprintf(device, sizeof device, "%s/ttyUSB0", of_ports);
    plug("ttyUSB0");
    why[0] = '\0';
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    for (unsigned i = 0; i < sizeof files / sizeof *files; i++)
        unplug(files[i]);
    return rmdir(of_ports);
}

static void which_names_are_numbers(void **state)
{
    (void)state;
    static const char *const numbers[] = {"/dev/ttyUSB0", "/dev/ttyUSB12", "/dev/ttyACM3", "./ttyUSB0",
                                          "modbus:/dev/ttyUSB0:1"};
    static const char *const others[] = {"/dev/ttyS0",
                                         "/dev/ttyAMA0",
                                         "/dev/pts/3",
                                         "/dev/ttyUSB",
                                         "/dev/ttyUSB0x",
                                         "/dev/bench",
                                         "/dev/serial/by-id/usb-adaptor_A107-if00-port0",
                                         "/dev/serial/by-path/pci-0000:00:14.0-usb-0:2:1.0-port0",
                                         "tcp:ttyUSB0:4001",
                                         "tcp:host/ttyUSB0",
                                         "hid:1234:abcd:ttyUSB0",
                                         "replay:/dev/ttyUSB0",
                                         "modbus:/dev/serial/by-id/usb-adaptor:1",
                                         "modbus:/dev/pts/3:1",
                                         "modbus:",
                                         ""};
    for (unsigned i = 0; i < sizeof numbers / sizeof *numbers; i++)
        assert_true(numbered_name(numbers[i]));
    for (unsigned i = 0; i < sizeof others / sizeof *others; i++)
        assert_false(numbered_name(others[i]));
}

static void a_link_is_a_name_of_its_own(void **state)
{
    (void)state;
    char link_path[80], text[100];
    path_to("ttyUSB1", link_path);
    assert_int_equal(symlink(device, link_path), 0);
    assert_true(numbered_name(device));
    assert_false(numbered_name(link_path));
    snprintf(text, sizeof text, "modbus:%s:1", link_path);
    assert_false(numbered_name(text));
    assert_false(numbered_in_doubt(link_path, why));
}

static void a_number_is_doubted_beside_another_one_only(void **state)
{
    (void)state;
    for (unsigned i = 3; i < sizeof files / sizeof *files; i++)
        plug(files[i]);
    assert_false(numbered_in_doubt(device, why));
    assert_string_equal(why, "");
    plug("ttyACM0");
    assert_true(numbered_in_doubt(device, why));
    assert_non_null(strstr(why, "/ttyUSB0 only says in which order it was plugged in, and 2 such ports are here"));
    assert_non_null(strstr(why, "tareline ports --prove"));
    assert_false(numbered_in_doubt("/dev/serial/by-id/usb-adaptor_A107-if00-port0", why));
}

/* No file is a serial line, so an opening that is tried ends in a sentence of its own. */
#define TRIED "is not a serial line"

static void diagnosis_opens_it_all_the_same(void **state)
{
    (void)state;
    struct feeder f;
    plug("ttyUSB1");
    assert_true(feeder_init(&f, &profile, device));
    assert_int_equal(feeder_open(&f, 0), DRIVER_WRONG);
    assert_non_null(strstr(f.why, TRIED));
}

static void plugged_in_again_it_is_doubted_again(void **state)
{
    (void)state;
    struct feeder f;
    struct feeder_bytes bytes;
    assert_true(feeder_init(&f, &profile, device));
    f.wary = true;
    assert_int_equal(feeder_open(&f, 0), DRIVER_WRONG);
    assert_non_null(strstr(f.why, TRIED));
    plug("ttyUSB1");
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_NOTHING); /* its rights may come a moment later */
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_UNUSABLE);
    assert_non_null(strstr(f.why, "only says"));
    for (unsigned i = 0; i < 5; i++)
        assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_NOTHING); /* said once */
    unplug("ttyUSB1");
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_NOTHING);
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_UNUSABLE); /* another reason */
    assert_non_null(strstr(f.why, TRIED));
    unplug("ttyUSB0");
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_DOWN);
    assert_int_equal(feeder_read(&f, 0, f.retry, &bytes), FEEDER_NOTHING);
}

static void weighing_refuses_it(void **state)
{
    (void)state;
    struct weigher *w = calloc(1, sizeof *w);
    assert_non_null(w);
    w->setup.scale_count = 1;
    w->setup.scales = w->scale_setups;
    w->profiles[0] = profile;
    snprintf(w->scale_setups[0].name, sizeof w->scale_setups[0].name, "bench");
    snprintf(w->station.scales[0].device, sizeof w->station.scales[0].device, "%s", device);
    plug("ttyUSB1");
    assert_int_equal(open_scales(w), EXIT_DEVICE);
    assert_non_null(strstr(w->feeders[0].why, "only says"));
    unplug("ttyUSB1");
    assert_int_equal(open_scales(w), EXIT_DEVICE);
    assert_non_null(strstr(w->feeders[0].why, TRIED));
    free(w);
}

#define T(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(which_names_are_numbers),      T(a_link_is_a_name_of_its_own),
        T(a_number_is_doubted_beside_another_one_only), T(diagnosis_opens_it_all_the_same),
        T(plugged_in_again_it_is_doubted_again),        T(weighing_refuses_it),
    };
    return cmocka_run_group_tests_name("drivers_numbered", tests, NULL, NULL);
}
