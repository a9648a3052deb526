// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a command with nothing to read and its output thrown away; prints wall
// time [s], processor time [s], peak memory [KiB] and exit status. A child's
// peak counts from that of the process that starts it, and this one is small.
//   time_command PROGRAM [ARGUMENT...]
//   time_command          prints what instructions the kernels use here
#include <fcntl.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>

#include "base/simd_level.h"

using namespace clockassay;

namespace {

int fail(const char* what, int error) {
  std::fprintf(stderr, "time_command: %s: %s\n", what, std::strerror(error));
  return 1;
}

double seconds(const timeval& time) {
  return static_cast<double>(time.tv_sec) +
         static_cast<double>(time.tv_usec) * 1e-6;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::puts(simd_level_name(simd_level()));
    return 0;
  }
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
  const auto start = std::chrono::steady_clock::now();
  pid_t child = 0;
  if (const int error =
          posix_spawnp(&child, argv[1], &files, nullptr, argv + 1, environ)) {
    return fail(argv[1], error);
  }
  int status = 0;
  rusage used = {};
  if (wait4(child, &status, 0, &used) != child) return fail("wait4", errno);
  const std::chrono::duration<double> wall =
      std::chrono::steady_clock::now() - start;
  std::printf("%.9f %.6f %ld %d\n", wall.count(),
              seconds(used.ru_utime) + seconds(used.ru_stime), used.ru_maxrss,
              WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status));
}
