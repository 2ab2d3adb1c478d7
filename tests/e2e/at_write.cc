// SPDX-License-Identifier: Apache-2.0
//
// at_write HOW N FOLDER PROGRAM [WORD...]: runs a program whose N-th write below FOLDER goes wrong.
//
//   full   no space left on device, from the N-th on
//   once   input/output error, at the N-th alone
//   half   the N-th writes half of what it should; then as `full`
//   kill   the program is killed before the N-th
//
// A write is a system call that makes or changes a file: open with O_CREAT, mkdir, rename, write and its
// kin. What frees space (ftruncate, unlink) always works. N of 0: nothing goes wrong. How many there were is
// the last line on standard error: "writes: 57". Its exit code is the program's; 128 + 9: it was killed.
// ptrace(2), x86-64.
#include <fcntl.h>
#include <linux/limits.h>
#include <signal.h>
#include <sys/ptrace.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/user.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <map>
#include <string>

namespace {

using Registers = user_regs_struct;

struct Wish {
  std::string how, folder;
  long at = 0;
};

std::string TextAt(pid_t thread, unsigned long address) {
  char text[PATH_MAX] = {};
  // Up to the end of its page, then the rest: a string may end where nothing follows.
  for (std::size_t done = 0; done < sizeof(text) - 1;) {
    const std::size_t page = 4096 - (address + done) % 4096;
    const std::size_t wanted = std::min(page, sizeof(text) - 1 - done);
    iovec ours{text + done, wanted}, theirs{reinterpret_cast<void*>(address + done), wanted};
    if (process_vm_readv(thread, &ours, 1, &theirs, 1, 0) <= 0) break;
    if (std::memchr(text + done, 0, wanted) != nullptr) break;
    done += wanted;
  }
  return text;
}

std::string LinkOf(pid_t thread, const std::string& name) {
  std::error_code none;
  return std::filesystem::read_symlink("/proc/" + std::to_string(thread) + "/" + name, none);
}

std::string PathAt(pid_t thread, unsigned long address) {
  const std::string path = TextAt(thread, address);
  return path.starts_with("/") ? path : LinkOf(thread, "cwd") + "/" + path;
}

// What it would write to; empty: it is no write.
std::string WrittenTo(pid_t thread, const Registers& r) {
  switch (r.orig_rax) {
    case SYS_write:
    case SYS_pwrite64:
    case SYS_writev:
    case SYS_pwritev:
    case SYS_fallocate:
      return LinkOf(thread, "fd/" + std::to_string(static_cast<int>(r.rdi)));
    case SYS_openat:
      return (r.rdx & O_CREAT) != 0 ? PathAt(thread, r.rsi) : "";
    case SYS_open:
      return (r.rsi & O_CREAT) != 0 ? PathAt(thread, r.rdi) : "";
    case SYS_mkdir:
    case SYS_rename:
      return PathAt(thread, r.rdi);
    case SYS_mkdirat:
    case SYS_renameat:
    case SYS_renameat2:
      return PathAt(thread, r.rsi);
    default:
      return "";
  }
}

class Traced {
 public:
  Traced(pid_t program, Wish wish) : program_(program), wish_(std::move(wish)) {}

  // The program's exit code.
  int Run() {
    for (;;) {
      int status = 0;
      const pid_t thread = waitpid(-1, &status, __WALL);
      if (thread < 0) return 1;
      if (WIFEXITED(status) || WIFSIGNALED(status)) {
        if (thread != program_) continue;
        return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
      }
      int signal = WSTOPSIG(status);
      if (signal == (SIGTRAP | 0x80)) {
        OnCall(thread);
        signal = 0;
      } else if (status >> 16 != 0 || signal == SIGSTOP || signal == SIGTRAP) {
        signal = 0;  // news of the tracing itself
      }
      ptrace(PTRACE_SYSCALL, thread, nullptr, signal);
    }
  }
  long writes() const { return writes_; }

 private:
  void OnCall(pid_t thread) {
    bool& inside = inside_[thread];
    inside = !inside;
    inside ? OnEntry(thread) : OnExit(thread);
  }

  void OnEntry(pid_t thread) {
    Registers registers{};
    ptrace(PTRACE_GETREGS, thread, nullptr, &registers);
    if (!WrittenTo(thread, registers).starts_with(wish_.folder)) return;
    ++writes_;
    if (wish_.at == 0 || writes_ < wish_.at) return;
    if (wish_.how == "kill") {
      kill(program_, SIGKILL);
    } else if (wish_.how == "half" && writes_ == wish_.at && registers.orig_rax == SYS_write) {
      registers.rdx = (registers.rdx + 1) / 2;
      ptrace(PTRACE_SETREGS, thread, nullptr, &registers);
    } else if (wish_.how != "once" || writes_ == wish_.at) {
      registers.orig_rax = static_cast<unsigned long long>(-1);  // no such call: it does nothing
      ptrace(PTRACE_SETREGS, thread, nullptr, &registers);
      failing_[thread] = wish_.how == "once" ? EIO : ENOSPC;
    }
  }

  void OnExit(pid_t thread) {
    const auto failing = failing_.find(thread);
    if (failing == failing_.end()) return;
    Registers registers{};
    ptrace(PTRACE_GETREGS, thread, nullptr, &registers);
    registers.rax = static_cast<unsigned long long>(-failing->second);
    ptrace(PTRACE_SETREGS, thread, nullptr, &registers);
    failing_.erase(failing);
  }

  pid_t program_;
  Wish wish_;
  long writes_ = 0;
  std::map<pid_t, bool> inside_;
  std::map<pid_t, int> failing_;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc < 5) {
    std::fprintf(stderr, "at_write full|once|half|kill N FOLDER PROGRAM [WORD...]\n");
    return 2;
  }
  const pid_t program = fork();
  if (program == 0) {
    ptrace(PTRACE_TRACEME, 0, nullptr, nullptr);
    raise(SIGSTOP);
    execv(argv[4], argv + 4);
    std::perror(argv[4]);
    _exit(127);
  }
  waitpid(program, nullptr, 0);
  ptrace(PTRACE_SETOPTIONS, program, nullptr,
         PTRACE_O_TRACESYSGOOD | PTRACE_O_TRACECLONE | PTRACE_O_EXITKILL);
  ptrace(PTRACE_SYSCALL, program, nullptr, 0);
  Traced traced(program, {argv[1], argv[3], std::atol(argv[2])});
  const int code = traced.Run();
  std::fprintf(stderr, "writes: %ld\n", traced.writes());
  return code;
}
