#pragma once

#include <cstddef>
#include <functional>

namespace evenhand::base {

/// Threads this machine runs at once, at least 1.
std::size_t hardware_threads();

/// Calls work(i) once for each i of 0 .. n-1, on up to `threads` threads (the caller's among them; at
/// least 1). Which thread takes which i is open, so work must write to places of its own; then the
/// result is the same for any number of threads. The first exception stops the rest and comes out here.
void in_parallel(std::size_t n, std::size_t threads, const std::function<void(std::size_t)>& work);

}  // namespace evenhand::base
