// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/thread_pool.h"

#include <sched.h>

#include <algorithm>
#include <exception>
#include <utility>

#include "app/unfinished_files.h"

namespace clockassay {
namespace {

// Whether this thread is inside a task, of whatever pool.
thread_local bool in_task = false;

}  // namespace

ThreadPool::ThreadPool(std::size_t jobs) {
  // Threads begin with what is held back here: signals are for the caller.
  const SignalsHeld held;
  try {
    for (std::size_t i = 1; i < jobs; ++i) {
      threads_.emplace_back([this] { work(); });
    }
  } catch (const std::exception&) {
    // The system gives no more threads, or no memory for them; fewer do the
    // same work.
  }
}

ThreadPool::~ThreadPool() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  more_.notify_all();
  for (std::thread& thread : threads_) thread.join();
}

void ThreadPool::run(std::size_t count,
                     const std::function<void(std::size_t)>& task) {
  if (in_task || threads_.empty()) {
    for (std::size_t i = 0; i < count; ++i) task(i);
    return;
  }
  std::unique_lock lock(mutex_);
  task_ = &task;
  next_ = 0;
  count_ = count;
  failure_ = nullptr;
  more_.notify_all();
  take_tasks(lock);
  done_.wait(lock, [this] { return running_ == 0; });
  task_ = nullptr;
  count_ = next_ = 0;
  if (failure_) std::rethrow_exception(std::exchange(failure_, nullptr));
}

void ThreadPool::work() {
  std::unique_lock lock(mutex_);
  while (true) {
    more_.wait(lock, [this] { return stopping_ || next_ < count_; });
    if (stopping_) return;
    take_tasks(lock);
    if (running_ == 0) done_.notify_all();
  }
}

void ThreadPool::take_tasks(std::unique_lock<std::mutex>& lock) {
  while (next_ < count_) {
    const std::size_t number = next_++;
    ++running_;
    const auto& task = *task_;
    std::exception_ptr thrown;
    lock.unlock();
    in_task = true;
    try {
      task(number);
    } catch (...) {
      thrown = std::current_exception();
    }
    in_task = false;
    lock.lock();
    --running_;
    if (thrown && (!failure_ || number < failed_)) {
      failure_ = thrown;
      failed_ = number;
    }
  }
}

std::size_t machine_jobs() {
  // Processors of the machine that this process is kept from would only be
  // waited for.
  cpu_set_t usable;
  if (::sched_getaffinity(0, sizeof usable, &usable) == 0) {
    return static_cast<std::size_t>(std::max(1, CPU_COUNT(&usable)));
  }
  return std::max(1U, std::thread::hardware_concurrency());
}

}  // namespace clockassay
