"""What is fitted and how it is plumbed: the description, its checks, its file, ready-made layouts, ten questions.

``kinds`` is the table everything else reads. A file comes in by ``reading``, answers by ``answers``; ``checks`` says
what keeps a description from being solved, ``remarks`` what is worth a look; ``writing`` gives the file back.
"""
