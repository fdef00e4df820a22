\version "2.24.0"

%% Lets LilyPond collect garbage only once its memory has grown.
%%
%% Given to LilyPond beside a score (-dinclude-settings), never part of it, and only where it was
%% started with GC_DONT_GC.  Nearly all that it makes lives until the pages are written, so that
%% looking for garbage takes a quarter of the time and frees next to nothing.  A score that fills
%% more than the memory named here while it is read is collected all the same.  No page changes.

%% Mebibytes of the heap at which collecting begins: an eighth of the memory that the process may
%% have, since a heap of so much after reading is three to four times as much, all told, at the end.
#(define memory:most
   (let ((allowed (and (defined? 'getrlimit)
                       (call-with-values (lambda () (getrlimit 'as)) (lambda (soft hard) soft)))))
     (if allowed (quotient allowed (* 8 1048576)) 512)))

#(define memory:collecting #f)

#(define (memory:look)
   (if (and (not memory:collecting)
            (> (quotient (assq-ref (gc-stats) 'heap-size) 1048576) memory:most))
       (begin
         (set! memory:collecting #t)
         (gc-enable))))

\layout {
  \context {
    \Score
    \consists
    #(lambda (context)
       (let ((moments 0))
         (make-engraver
          ((stop-translation-timestep engraver)
           (set! moments (1+ moments))
           (if (zero? (modulo moments 64)) (memory:look)))
          ((finalize engraver) (memory:look)))))
  }
}
