// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/error_of_exception.h"

#include <new>
#include <stdexcept>

namespace clockassay {

Error error_of(const std::exception& e, const std::string& path) {
  Error error{ErrorCode::kInternal, std::string("internal error: ") + e.what(),
              "this is a bug; please report it with the capture"};
  if (dynamic_cast<const std::bad_alloc*>(&e) != nullptr) {
    error = {ErrorCode::kReadFailed, "not enough memory",
             "give it more (ulimit -v), or less to do: --channel, --span, "
             "--jobs 1"};
  }
  error.path = path;
  return error;
}

}  // namespace clockassay
