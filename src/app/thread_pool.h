// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <condition_variable>
#include <cstddef>
#include <exception>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace clockassay {

/// Threads that share out numbered tasks; the caller works along.
class ThreadPool {
 public:
  /// jobs >= 1 is how many tasks run at once.
  explicit ThreadPool(std::size_t jobs);
  ~ThreadPool();
  ThreadPool(const ThreadPool&) = delete;
  ThreadPool& operator=(const ThreadPool&) = delete;

  /// Runs task(0) … task(count-1) and returns when all are done. From within a
  /// task: one after the other. The exception of the lowest-numbered task that
  /// threw one is thrown again, after all have ended.
  void run(std::size_t count, const std::function<void(std::size_t)>& task);

 private:
  void work();
  void take_tasks(std::unique_lock<std::mutex>& lock);

  std::mutex mutex_;
  std::condition_variable more_;  // tasks, or the end of the pool
  std::condition_variable done_;  // a worker ran out of tasks
  const std::function<void(std::size_t)>* task_ = nullptr;
  std::size_t next_ = 0;
  std::size_t count_ = 0;
  std::size_t running_ = 0;  // tasks begun and not ended
  std::size_t failed_ = 0;   // number of the task `failure_` came from
  std::exception_ptr failure_;
  bool stopping_ = false;
  std::vector<std::thread> threads_;
};

/// As many tasks at once as this machine has room for; at least 1.
std::size_t machine_jobs();

}  // namespace clockassay
