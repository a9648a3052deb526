// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <span>
#include <thread>

#include "clockassay/base/result.h"
#include "clockassay/capture/capture_reader.h"

namespace clockassay {

/// What is read ahead, by one thread that need not be the caller's.
struct AheadSource {
  ByteSource read;
  /// How far read() has come in the file; called by the thread that reads.
  std::function<std::int64_t()> position;
  /// Makes a read() that waits return soon, and every later one; from any
  /// thread. Called when nobody wants the rest.
  std::function<void()> interrupt;
};

/// Reads a source ahead of whoever takes its bytes, on a thread of its own, so
/// that unpacking and waiting for a pipe go on beside parsing. The bytes, their
/// end and an error come as the source gives them: all bytes first.
/// Cost: at most kPartsAhead parts of kPartBytes in memory (1 MiB) beside the
///       source's own; every byte is copied once more.
class ReadAhead {
 public:
  static constexpr std::size_t kPartBytes = std::size_t{128} << 10;
  /// Chosen: what is unpacked while four pieces are parsed.
  static constexpr std::size_t kPartsAhead = 8;

  /// Without a thread, which may be all the system gives, read() reads itself.
  ReadAhead(AheadSource source, bool on_thread);
  /// Whatever of the source is left stays unread.
  ~ReadAhead();
  ReadAhead(const ReadAhead&) = delete;
  ReadAhead& operator=(const ReadAhead&) = delete;

  /// As a ByteSource; the end and an error are for good. An exception of the
  /// source comes out here.
  Result<std::size_t> read(std::span<char> buffer);
  /// How far the source was when it gave what read() gave last.
  std::int64_t position() const;

 private:
  // Whole pages, into which a system copies fastest (docs/speed.md).
  struct alignas(4096) Bytes : std::array<char, kPartBytes> {};
  // What one read of the source gave.
  struct Part {
    std::unique_ptr<Bytes> bytes;
    Result<std::size_t> size = 0;
    std::exception_ptr thrown;
    std::int64_t position = 0;

    bool is_last() const { return thrown || !size || *size == 0; }
  };

  void read_parts();
  void fill(Part& part);

  AheadSource source_;
  std::mutex mutex_;
  std::condition_variable filled_;
  std::condition_variable emptied_;
  // In turns; the thread fills a part that is free, read() empties one that is
  // filled, each without the lock.
  std::array<Part, kPartsAhead> parts_;
  std::size_t parts_filled_ = 0;
  std::size_t parts_emptied_ = 0;
  bool stopping_ = false;
  Part* part_ = nullptr;       // that read() is emptying
  std::size_t part_read_ = 0;  // bytes of it
  std::thread thread_;
};

}  // namespace clockassay
