#include "server/own_connection.hpp"

#include <utility>

#include "store/unavailable.hpp"

namespace evenhand::server {

store::Store own_connection(const std::string& path, base::Time now) {
  auto opened = store::Store::open(path, store::OpenMode::existing, now);
  if (!opened) throw store::Unavailable(opened.error().message);
  return std::move(*opened);
}

}  // namespace evenhand::server
