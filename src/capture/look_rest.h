// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// Whether to look for records that can be taken many at a time. Where a look
/// found none, some records are read one by one before the next.
class LookRest {
 public:
  /// Asked before each record.
  bool is_due() {
    if (left_ == 0) return true;
    --left_;
    return false;
  }
  void found_none() { left_ = kRest; }

 private:
  static constexpr int kRest = 8;  // chosen: a look costs as much as a few
  int left_ = 0;
};

}  // namespace clockassay
