// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/thread_pool.h"

#include <doctest/doctest.h>

#include <atomic>
#include <csignal>
#include <stdexcept>
#include <thread>
#include <vector>

using namespace clockassay;

TEST_CASE("ThreadPool: every task runs once, for any number of threads") {
  for (const std::size_t jobs : {1U, 2U, 7U}) {
    ThreadPool pool(jobs);
    for (const std::size_t count : {0U, 1U, 2U, 1000U}) {
      std::vector<int> runs(count, 0);
      pool.run(count, [&runs](std::size_t i) { ++runs[i]; });
      CHECK(runs == std::vector<int>(count, 1));
    }
  }
}

TEST_CASE("ThreadPool: a task may share out tasks of its own") {
  ThreadPool pool(3);
  std::atomic<int> runs = 0;
  pool.run(
      10, [&](std::size_t) { pool.run(10, [&runs](std::size_t) { ++runs; }); });
  CHECK(runs == 100);
}

TEST_CASE("ThreadPool: the first exception comes out, after all have ended") {
  for (const std::size_t jobs : {2U, 4U}) {
    ThreadPool pool(jobs);
    std::atomic<int> runs = 0;
    const auto task = [&runs](std::size_t i) {
      ++runs;
      if (i == 3 || i == 40) throw std::runtime_error(std::to_string(i));
    };
    CHECK_THROWS_WITH(pool.run(50, task), "3");
    CHECK(runs == 50);
    // The pool is as good as new.
    runs = 0;
    pool.run(3, task);
    CHECK(runs == 3);
  }
}

TEST_CASE("ThreadPool: signals that end the program are for the caller") {
  ThreadPool pool(4);
  const std::thread::id caller = std::this_thread::get_id();
  std::atomic<int> of_workers = 0;
  std::atomic<int> wrong = 0;
  // As many tasks at once as threads, so that each of them has one.
  std::atomic<int> begun = 0;
  pool.run(4, [&](std::size_t) {
    ++begun;
    while (begun < 4) std::this_thread::yield();
    const bool is_worker = std::this_thread::get_id() != caller;
    if (is_worker) ++of_workers;
    sigset_t held;
    pthread_sigmask(SIG_SETMASK, nullptr, &held);
    for (const int signal : {SIGHUP, SIGINT, SIGTERM, SIGXCPU}) {
      if ((sigismember(&held, signal) == 1) != is_worker) ++wrong;
    }
  });
  CHECK(of_workers == 3);
  CHECK(wrong == 0);
}
