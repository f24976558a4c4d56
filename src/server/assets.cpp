#include "server/assets.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <mutex>
#include <set>
#include <stdexcept>

#include "base/fingerprint.hpp"
#include "server/compress.hpp"
#include "server/web_names.hpp"

namespace evenhand::server {
namespace {

struct Kind {
  std::string_view ending;
  std::string_view type;
};
constexpr std::array kinds{
    Kind{".js", "text/javascript; charset=utf-8"}, Kind{".css", "text/css; charset=utf-8"},
    Kind{".svg", "image/svg+xml"}, Kind{".html", ""},  // a template
};

const Kind* kind_of(std::string_view name) {
  for (const Kind& kind : kinds)
    if (name.ends_with(kind.ending)) return &kind;
  return nullptr;
}

/// A served file, with its addresses in place.
struct Served {
  std::string type;
  std::string text;
  std::once_flag once;
  std::string gzip, brotli;  // made when somebody asks for the file

  const std::string& encoded(Encoding encoding) {
    if (encoding == Encoding::none) return text;
    std::call_once(once, [&] {
      gzip = compress(text, Encoding::gzip, Effort::best);
      brotli = compress(text, Encoding::brotli, Effort::best);
    });
    return encoding == Encoding::gzip ? gzip : brotli;
  }
};

struct Collection {
  std::map<std::string, std::string, std::less<>> texts;                   // by name
  std::map<std::string, std::string, std::less<>> addresses;               // by name
  std::map<std::string, std::shared_ptr<Served>, std::less<>> by_address;  // what each address gives
};

/// "js/api.js" -> "/a/js/api.<hash>.js"
std::string address(const std::string& name, const std::string& text) {
  const auto dot = name.rfind('.');
  return "/a/" + name.substr(0, dot) + '.' + base::fingerprint(text).substr(0, 12) + name.substr(dot);
}

/// A file's address holds the hash of its text, in which the addresses of others stand: so these come first.
class Collecting {
 public:
  static Result<std::shared_ptr<Collection>> of(std::vector<AssetFile> files) {
    Collecting collecting;
    for (auto& file : files)
      if (kind_of(file.name) != nullptr)
        collecting.made_->texts.emplace(std::move(file.name), std::move(file.text));
    for (const auto& [name, text] : collecting.made_->texts) {
      if (kind_of(name)->type.empty()) continue;
      if (auto done = collecting.address_of(name); !done) return tl::unexpected(done.error());
    }
    return collecting.made_;
  }

 private:
  Result<std::string> address_of(const std::string& name) {
    if (const auto known = made_->addresses.find(name); known != made_->addresses.end()) return known->second;
    const auto text = made_->texts.find(name);
    if (text == made_->texts.end()) return fail(Errc::invalid, "{}: no such file", name);
    if (!under_way_.insert(name).second) return fail(Errc::invalid, "{}: imports itself in a circle", name);
    auto whole = with_addresses(name, text->second, [&](const std::string& other) {
      return address_of(other).map_error(
          [&](const Error& error) { return Error{error.code, name + ": " + error.message}; });
    });
    if (!whole) return whole;
    auto at = address(name, *whole);
    auto served = std::make_shared<Served>();
    served->type = kind_of(name)->type;
    served->text = std::move(*whole);
    made_->by_address.emplace(at, std::move(served));
    made_->addresses.emplace(name, at);
    under_way_.erase(name);
    return at;
  }

  std::shared_ptr<Collection> made_ = std::make_shared<Collection>();
  std::set<std::string> under_way_;
};

Result<std::vector<AssetFile>> read_folder(const std::string& folder) {
  namespace fs = std::filesystem;
  if (!fs::is_directory(folder)) return fail(Errc::not_found, "{}: no such folder", folder);
  std::vector<AssetFile> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const auto name = fs::relative(entry.path(), folder).generic_string();
    if (!entry.is_regular_file() || kind_of(name) == nullptr) continue;
    std::ifstream file(entry.path(), std::ios::binary);
    files.push_back({name, std::string{std::istreambuf_iterator<char>(file), {}}});
  }
  return files;
}

}  // namespace

struct Assets::State {
  State(std::string where, std::shared_ptr<Collection> first)
      : folder(std::move(where)), last(std::move(first)) {}

  const std::string folder;  // empty: nothing ever changes
  std::mutex mutex;
  std::shared_ptr<Collection> last;

  /// What there is now.
  std::shared_ptr<Collection> now() {
    if (folder.empty()) return last;
    const std::lock_guard lock(mutex);
    auto files = read_folder(folder);
    auto read = files ? Collecting::of(std::move(*files)) : tl::unexpected(files.error());
    if (!read) throw std::runtime_error(read.error().message);
    // An address that a page still holds goes on working.
    (*read)->by_address.insert(last->by_address.begin(), last->by_address.end());
    last = *read;
    return last;
  }
};

Result<Assets> Assets::of(std::vector<AssetFile> files) {
  auto made = Collecting::of(std::move(files));
  if (!made) return tl::unexpected(made.error());
  return Assets(std::make_shared<State>("", *made));
}

Result<Assets> Assets::in_folder(const std::string& folder) {
  auto files = read_folder(folder);
  if (!files) return tl::unexpected(files.error());
  auto made = Collecting::of(std::move(*files));
  if (!made) return tl::unexpected(made.error());
  return Assets(std::make_shared<State>(folder, *made));
}

std::string Assets::url(std::string_view name) const {
  const auto all = state_->now();
  const auto found = all->addresses.find(name);
  if (found == all->addresses.end()) throw std::runtime_error("no file of the site: " + std::string(name));
  return found->second;
}

std::string Assets::text(std::string_view name) const {
  const auto all = state_->now();
  const auto found = all->texts.find(name);
  if (found == all->texts.end()) throw std::runtime_error("no file of the site: " + std::string(name));
  return found->second;
}

Response Assets::serve(const Request& request) const {
  const auto all = state_->now();
  const auto found = all->by_address.find(request.path);
  if (found == all->by_address.end()) return refusal(404, "not-found", "There is no such file.");
  Served& served = *found->second;
  auto encoding = best_encoding(request.header("accept-encoding"));
  // While pages are written, every request would compress anew.
  if (!state_->folder.empty()) encoding = Encoding::none;
  Response response{.type = served.type, .body = served.encoded(encoding)};
  response.headers.emplace_back("Cache-Control", "public, max-age=31536000, immutable");
  response.headers.emplace_back("Vary", "Accept-Encoding");
  if (encoding != Encoding::none) response.headers.emplace_back("Content-Encoding", word(encoding));
  return response;
}

}  // namespace evenhand::server
