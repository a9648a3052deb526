// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/error_of_exception.h"

#include <new>
#include <stdexcept>

namespace clockassay {

Error error_of(const std::exception& e, const std::string& path) {
  Error error{ErrorCode::kInternal, std::string("internal error: ") + e.what(),
              "this is a bug; please report it with the capture"};
  // A size that no memory has is a bug of ours.
  const bool is_bug = dynamic_cast<const std::bad_array_new_length*>(&e);
  if (!is_bug && dynamic_cast<const std::bad_alloc*>(&e) != nullptr) {
    error = {ErrorCode::kNoMemory, "not enough memory",
             "give it more (ulimit -v), or less to do: --channel, --span, "
             "--jobs 1"};
  }
  error.path = path;
  return error;
}

}  // namespace clockassay
