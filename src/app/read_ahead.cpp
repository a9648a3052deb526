// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/read_ahead.h"

#include <algorithm>
#include <cstring>
#include <exception>
#include <utility>

#include "app/unfinished_files.h"

namespace clockassay {
namespace {

// As memcpy, which for much at once may turn to an instruction that is ten
// times slower for some places (docs/speed.md): so in steps of less.
void copy(char* to, const char* from, std::size_t size) {
  constexpr std::size_t kStep = 2048;
  for (; size > kStep; size -= kStep, to += kStep, from += kStep) {
    std::memcpy(to, from, kStep);
  }
  std::memcpy(to, from, size);
}

}  // namespace

ReadAhead::ReadAhead(AheadSource source, bool on_thread)
    : source_(std::move(source)) {
  if (!on_thread) return;
  // The thread begins with what is held back here: signals are for the caller.
  const SignalsHeld held;
  try {
    thread_ = std::thread([this] { read_parts(); });
  } catch (const std::exception&) {
    // The system gives no more threads, or no memory for one.
  }
}

ReadAhead::~ReadAhead() {
  if (!thread_.joinable()) return;
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  emptied_.notify_one();
  source_.interrupt();
  thread_.join();
}

void ReadAhead::read_parts() {
  bool more = true;
  while (more) {
    Part* part = nullptr;
    {
      std::unique_lock lock(mutex_);
      emptied_.wait(lock, [this] {
        return stopping_ || parts_filled_ < parts_emptied_ + kPartsAhead;
      });
      if (stopping_) return;
      part = &parts_[parts_filled_ % kPartsAhead];
    }
    fill(*part);
    more = !part->is_last();
    {
      const std::lock_guard lock(mutex_);
      ++parts_filled_;
    }
    filled_.notify_one();
  }
}

void ReadAhead::fill(Part& part) {
  try {
    if (!part.bytes) {
      part.bytes = std::make_unique_for_overwrite<Bytes>();
    }
    part.size = source_.read(*part.bytes);
    part.position = source_.position();
  } catch (...) {
    part.thrown = std::current_exception();
  }
}

Result<std::size_t> ReadAhead::read(std::span<char> buffer) {
  if (!thread_.joinable()) return source_.read(buffer);
  if (buffer.empty()) return 0;
  const bool is_empty =
      part_ == nullptr || (!part_->is_last() && part_read_ == *part_->size);
  if (is_empty) {
    std::unique_lock lock(mutex_);
    if (part_ != nullptr) {
      ++parts_emptied_;
      emptied_.notify_one();
    }
    filled_.wait(lock, [this] { return parts_emptied_ < parts_filled_; });
    part_ = &parts_[parts_emptied_ % kPartsAhead];
    part_read_ = 0;
  }
  if (part_->thrown) std::rethrow_exception(part_->thrown);
  if (part_->is_last()) return part_->size;
  const std::size_t size = std::min(buffer.size(), *part_->size - part_read_);
  copy(buffer.data(), part_->bytes->data() + part_read_, size);
  part_read_ += size;
  return size;
}

std::int64_t ReadAhead::position() const {
  if (!thread_.joinable()) return source_.position();
  return part_ != nullptr ? part_->position : 0;
}

}  // namespace clockassay
