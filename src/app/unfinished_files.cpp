// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/unfinished_files.h"

#include <unistd.h>

#include <atomic>
#include <memory>

namespace clockassay {

// One a temporary file that ever was, kept to the end: a signal may look at it
// at any time. There are as many as outputs.
struct UnfinishedFile::Entry {
  std::string path;
  std::atomic<bool> is_there{true};
  Entry* next = nullptr;
};

namespace {

constexpr int kEnding[] = {SIGHUP, SIGINT, SIGTERM, SIGXCPU};

std::atomic<UnfinishedFile::Entry*> first_entry{nullptr};
static_assert(std::atomic<UnfinishedFile::Entry*>::is_always_lock_free);
static_assert(std::atomic<bool>::is_always_lock_free);

// Only what may be called within a signal.
void end_cleanly(int signal) {
  remove_unfinished_files();
  // The action is the system's again, and waits for this to return.
  ::raise(signal);
}

}  // namespace

UnfinishedFile::UnfinishedFile(const std::string& path) {
  auto entry = std::make_unique<Entry>();
  entry->path = path;
  entry->next = first_entry.load();
  entry_ = entry.get();
  while (!first_entry.compare_exchange_weak(entry->next, entry_)) {
  }
  (void)entry.release();
}

UnfinishedFile::~UnfinishedFile() {
  if (entry_ != nullptr) entry_->is_there = false;
}

SignalsHeld::SignalsHeld() {
  sigset_t ending;
  sigemptyset(&ending);
  for (const int signal : kEnding) sigaddset(&ending, signal);
  pthread_sigmask(SIG_BLOCK, &ending, &before_);
}

SignalsHeld::~SignalsHeld() {
  pthread_sigmask(SIG_SETMASK, &before_, nullptr);
}

void clean_up_on_signals() {
  for (const int signal : kEnding) {
    struct sigaction before {};
    sigaction(signal, nullptr, &before);
    if (before.sa_handler == SIG_IGN) continue;
    struct sigaction action {};
    action.sa_handler = end_cleanly;
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    sigemptyset(&action.sa_mask);
    sigaction(signal, &action, nullptr);
  }
}

void remove_unfinished_files() {
  for (auto* entry = first_entry.load(); entry != nullptr;
       entry = entry->next) {
    if (entry->is_there) ::unlink(entry->path.c_str());
  }
}

}  // namespace clockassay
