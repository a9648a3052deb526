// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <csignal>
#include <string>
#include <utility>

namespace clockassay {

/// A temporary file that is no output yet: a signal that ends the program takes
/// it away first. SIGKILL and a crash of the machine leave it.
class UnfinishedFile {
 public:
  struct Entry;

  UnfinishedFile() = default;
  explicit UnfinishedFile(const std::string& path);
  UnfinishedFile(UnfinishedFile&& other) noexcept
      : entry_(std::exchange(other.entry_, nullptr)) {}
  UnfinishedFile& operator=(UnfinishedFile&& other) noexcept {
    std::swap(entry_, other.entry_);
    return *this;
  }
  /// It is an output now, or gone.
  ~UnfinishedFile();

 private:
  Entry* entry_ = nullptr;
};

/// Holds the signals below back from this thread as long as it lives.
class SignalsHeld {
 public:
  SignalsHeld();
  ~SignalsHeld();
  SignalsHeld(const SignalsHeld&) = delete;
  SignalsHeld& operator=(const SignalsHeld&) = delete;

 private:
  sigset_t before_;
};

/// From now on SIGHUP, SIGINT, SIGTERM and SIGXCPU end the program as they do
/// any other, after the temporary files are gone. One that whoever started us
/// ignores stays ignored.
void clean_up_on_signals();

/// Takes the temporary files away now, for a program that ends at once.
void remove_unfinished_files();

}  // namespace clockassay
