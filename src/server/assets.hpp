#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

/// A file of src/server/web, by its path below that folder: "js/api.js".
struct AssetFile {
  std::string name;
  std::string text;
};

/// Every page, style, module and icon as it was when the program was built.
std::vector<AssetFile> asset_files();

/// What pages are made of. Styles, modules and icons are served under names that hold a hash of their
/// content ("/a/js/api.1f2e3d4c5b6a.js"), so browsers keep them for good; *.html are templates and are not
/// served.
///
/// Inside served files relative names are replaced by such addresses: in modules those of
/// `import ... from './x.js'`, `export ... from './x.js'`, `import './x.js'` (at the beginning of a line, or
/// on the line that closes the braces) and `await import('./x.js')`; in styles those of `url(...)`. Modules
/// must not import each other in a circle.
class Assets {
 public:
  /// Of the program itself.
  /// Errors: invalid  a file names one that is not there, or modules import each other in a circle
  static Result<Assets> of(std::vector<AssetFile> files);
  /// Of a folder that is read again each time: for those who are writing pages.
  static Result<Assets> in_folder(const std::string& folder);

  /// The address of "css/site.css". Throws std::runtime_error: no such file.
  std::string url(std::string_view name) const;
  /// The text of a file as it was written, templates too. Throws std::runtime_error: no such file.
  std::string text(std::string_view name) const;

  /// Answers a request for "/a/...": 200 in the best encoding that the browser takes, or 404.
  Response serve(const Request& request) const;

 private:
  struct State;
  explicit Assets(std::shared_ptr<State> state) : state_(std::move(state)) {}
  std::shared_ptr<State> state_;
};

}  // namespace evenhand::server
